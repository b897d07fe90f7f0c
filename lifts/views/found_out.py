"""A wrench found out: the looks that its error spoilt, and their rechecks by one press."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from fleet.kinds import Cut
from lifts.actions.rechecks import order_joint_looks
from lifts.forms_found_out import RechecksForm
from lifts.found_out import finding_called
from lifts.found_out_page import CARTS_A_PAGE, FoundOutPage
from lifts.found_out_words import error_words, window_words
from lifts.models import Wrench
from lifts.wrench_page import words_of
from shared.models import Role
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)


def _finding(request, pk, fact_id):
    wrenches = Wrench.objects.visible_to(request.viewer).select_related("site")
    wrench = get_object_or_404(wrenches, pk=pk, site=request.site)
    found = finding_called(wrench, fact_id, _now(request))
    if found is None:
        raise Http404
    return found


def _now(request):
    return Cut.known_now(request.viewer.at)


@allowed(*READERS)
@require_safe
def found_out(request, pk, finding):
    found = _finding(request, pk, finding)
    return _show(request, FoundOutPage(request.site, found, _now(request)), RechecksForm())


@allowed(Role.MANAGER)
@require_POST
def found_out_order(request, pk, finding):
    found = _finding(request, pk, finding)
    form, ticked = RechecksForm(request.POST), set(request.POST.getlist("look"))
    page = FoundOutPage(request.site, found, _now(request), ticked)
    chosen = page.preset if "all" in request.POST else page.chosen(ticked)
    if form.is_valid() and not chosen:
        form.add_error(None, _("Nothing is ticked, or all of it was made before."))
    if not form.is_valid():
        return _show(request, page, form)
    made = _order(request, found, chosen, form.cleaned_data["reason"])
    said = ngettext("%(n)s recheck was made.", "%(n)s rechecks were made.", len(made))
    messages.success(request, said % {"n": len(made)})
    return redirect("found-out", request.site.slug, pk, finding)


def _order(request, found, chosen, why):
    site = request.site
    reason = _("Wrench %(name)s found out (%(how)s): %(why)s") % {
        "name": found.wrench.name,
        "how": words_of(found.fact, site),
        "why": why,
    }
    looks = [one.found.look for one in chosen]
    who = {"by": request.viewer.person, "at": request.viewer.at}
    return order_joint_looks(found, looks, reason=reason, **who)


def _show(request, page, form):
    found, site = page.finding, request.site
    carts = Paginator(page.carts(), CARTS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "wrench": found.wrench,
        "finding": found,
        "what": words_of(found.fact, site),
        "error": error_words(found, site),
        "window": window_words(found, site),
        "page": page,
        "form": form,
        "carts": [(cart, page.rows(spoilt)) for cart, spoilt in carts],
        "paging": carts,
        "may_order": request.role == Role.MANAGER and any(one.may_order for one in page.spoilt),
    }
    return render(request, "lifts/found_out.html", context)
