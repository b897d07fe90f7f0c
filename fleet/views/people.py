"""Who has which role at a site, given and ended by its managers."""

import logging
from datetime import timedelta
from smtplib import SMTPException

from django.contrib import messages
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST
from django_tables2 import SingleTableView

from fleet.actions.sites import add_person, give_role
from fleet.forms.people import PersonForm, RoleForm, is_in_force, is_only_manager
from fleet.tables.people import PersonTable
from fleet.views.surveyors import introduce
from shared import emails
from shared.models import Membership, Role, SurveyorLink
from shared.tables import CsvList
from shared.viewer import allowed

log = logging.getLogger(__name__)


@method_decorator(allowed(Role.MANAGER), "dispatch")
class People(CsvList, SingleTableView):
    table_class = PersonTable
    template_name = "fleet/person_list.html"
    paginate_by = 100

    def get_queryset(self):
        here = Membership.objects.visible_to(self.request.viewer).filter(site=self.request.site)
        return here.select_related("person", "site").order_by("person__name", "person_id")

    def get_table_kwargs(self):
        return {"site": self.request.site, "day": _today(self.request)}


def _today(request):
    return request.site.day(request.viewer.at)


def _membership(request, pk):
    rows = Membership.objects.visible_to(request.viewer).filter(site=request.site)
    return get_object_or_404(rows.select_related("person", "site"), person_id=pk)


@allowed(Role.MANAGER)
def person_create(request):
    form = PersonForm(request.POST or None, site=request.site, day=_today(request))
    if request.method == "POST" and form.is_valid():
        row = _added(request, form.cleaned_data)
        if row.role == Role.SURVEYOR:
            return introduce(request, row)
        _mail_welcome(request, row.person)
        return redirect("people", request.site.slug)
    return render(request, "fleet/person_create.html", {"form": form})


@transaction.atomic
def _added(request, said):
    person = add_person(said.pop("email"), said.pop("name"), request.site)
    return _give(request, person, **said)


def _give(request, person, **said):
    return give_role(request.site, person, **said, by=request.viewer.person, at=request.viewer.at)


def _mail_welcome(request, person):
    said = {"name": person, "email": person.email}
    try:
        emails.welcome(person, request.site)
    except (OSError, SMTPException):
        log.exception("A mail to a new person could not be sent")
        messages.warning(request, _("%(name)s has the role, but no mail went to %(email)s.") % said)
    else:
        messages.success(request, _("A mail with a link went to %(email)s.") % said)


@allowed(Role.MANAGER)
def person_role(request, pk):
    row = _membership(request, pk)
    day = _today(request)
    form = RoleForm(request.POST or None, site=request.site, day=day, row=row)
    if request.method == "POST" and form.is_valid():
        given = _give(request, row.person, **form.cleaned_data)
        messages.success(request, _("Kept."))
        if given.role == Role.SURVEYOR and not _surveys(row, day):
            return introduce(request, given)
        return redirect("people", request.site.slug)
    context = {
        "form": form,
        "row": row,
        "is_in_force": is_in_force(row, day),
        "is_surveyor": row.role == Role.SURVEYOR,
        "link": SurveyorLink.objects.newest_of(row.person),
    }
    return render(request, "fleet/person_role.html", context)


def _surveys(row, day):
    return row.role == Role.SURVEYOR and is_in_force(row, day)


@allowed(Role.MANAGER)
@require_POST
def role_end(request, pk):
    """End a role with yesterday, so that it holds no more from now on."""
    row = _membership(request, pk)
    day = _today(request)
    if row.role == Role.MANAGER and is_only_manager(row, day):
        messages.error(request, _("The site would have no manager. Name another first."))
    elif is_in_force(row, day):
        last = day - timedelta(days=1)
        _give(request, row.person, role=row.role, from_day=min(row.from_day, last), to_day=last)
        messages.success(request, _("The role of %s has ended.") % row.person)
    return redirect("people", request.site.slug)


@allowed(Role.MANAGER)
@require_POST
def person_mail(request, pk):
    """Mail the link once more to somebody who has set no password yet, and is to have one."""
    row = _membership(request, pk)
    if row.role != Role.SURVEYOR and not row.person.has_usable_password():
        _mail_welcome(request, row.person)
    return redirect("person-role", request.site.slug, pk)
