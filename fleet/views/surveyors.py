"""Surveyors: their way in, what they see first, and what they saw."""

import logging
from smtplib import SMTPException

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe
from django_tables2 import SingleTableView

from fleet.filters.surveyors import LookFilter
from fleet.surveying import key_shown, looks_at, newest_bundle, people_of, surveyors_of
from fleet.tables.surveyors import LookTable, SurveyorTable
from shared import actions, emails
from shared.dates import shown_day
from shared.models import Membership, Role, SurveyorLink
from shared.surveyor_code import spelled
from shared.tables import CsvList
from shared.viewer import allowed

log = logging.getLogger(__name__)
READERS = (Role.MANAGER, Role.SURVEYOR)


@method_decorator([allowed(Role.MANAGER), require_safe], "dispatch")
class SurveyorList(CsvList, SingleTableView):
    """What surveyors looked at and took away, newest first, and who may."""

    table_class = LookTable
    template_name = "fleet/surveyor_list.html"
    paginate_by = 100

    def get_queryset(self):
        viewer, site = self.request.viewer, self.request.site
        self.choice = LookFilter(self.request.GET, people_of(site))
        return self.choice.applied(looks_at(site, viewer))

    def get_table_kwargs(self):
        return {"site": self.request.site}

    def get_context_data(self, **kwargs):
        viewer, site = self.request.viewer, self.request.site
        rows = surveyors_of(site, viewer)
        surveyors = SurveyorTable(rows, site=site, day=site.day(viewer.at))
        more = {"form": self.choice, "surveyors": surveyors}
        return super().get_context_data(**kwargs) | more


@allowed(*READERS)
@require_safe
def survey(request):
    """Show a surveyor where to begin; a manager sees the same page."""
    viewer, site = request.viewer, request.site
    rows = [row for row in viewer.memberships if row.role == Role.SURVEYOR]
    context = {
        "rows": rows,
        "here": next((row for row in rows if row.site_id == site.pk), None),
        "bundle": newest_bundle(site, viewer),
        "key": key_shown(),
    }
    return render(request, "fleet/survey.html", context)


def introduce(request, row):
    """Tell a new surveyor the way in: a link and a code, or that theirs hold here too."""
    newest = SurveyorLink.objects.newest_of(row.person)
    if newest is None or not newest.is_live:
        return _let_in(request, row, after=newest)
    _mailed(request, row, emails.surveyor_role, until=_until(row))
    return redirect("people", request.site.slug)


def _surveyor(request, pk):
    rows = Membership.objects.visible_to(request.viewer).filter(site=request.site)
    return get_object_or_404(
        rows.select_related("person", "site"),
        person_id=pk,
        role=Role.SURVEYOR,
        to_day__isnull=False,
    )


@allowed(Role.MANAGER)
@require_POST
def link_make(request, pk):
    """Make a new link and code; those before let in no more."""
    row = _surveyor(request, pk)
    newest = SurveyorLink.objects.newest_of(row.person)
    if request.POST.get("after", "") != (str(newest.pk) if newest else ""):
        return _newer(request, row)
    return _let_in(request, row, after=newest)


def _newer(request, row):
    messages.warning(request, _("A newer link was made meanwhile. Look, and make another if need."))
    return redirect("person-role", request.site.slug, row.person_id)


def _let_in(request, row, *, after):
    """Make a link, mail it and show its code, this once."""
    who = {"by": request.viewer.person, "at": request.viewer.at}
    try:
        token, code = actions.make_link(row.person, after=after, **who)
    except actions.NewerLink:
        return _newer(request, row)
    told = {"token": token, "until": _until(row), "by": request.viewer.person, "key": key_shown()}
    is_mailed = _mailed(request, row, emails.surveyor_link, **told)
    context = {"row": row, "code": code, "spelled": spelled(code), "is_mailed": is_mailed}
    response = render(request, "fleet/surveyor_code.html", context)
    response["Cache-Control"] = "no-store"
    return response


def _until(row):
    return shown_day(row.to_day, row.site.date_order)


def _mailed(request, row, mail, **told):
    """Mail a surveyor and say whether it went, on the page too."""
    try:
        mail(row.person, row.site, **told)
    except (OSError, SMTPException):
        log.exception("A mail to a surveyor could not be sent")
        messages.warning(request, _("No mail went to %s.") % row.person.email)
        return False
    messages.success(request, _("A mail went to %s.") % row.person.email)
    return True


@allowed(Role.MANAGER)
@require_POST
def link_withdraw(request, pk):
    """Let the link in no more; whoever came in by it is out with the next page."""
    row = _surveyor(request, pk)
    if actions.withdraw_links(row.person, by=request.viewer.person, at=request.viewer.at):
        messages.success(request, _("The link lets in no more."))
    else:
        messages.warning(request, _("There was no link that lets in."))
    return redirect("person-role", request.site.slug, row.person_id)
