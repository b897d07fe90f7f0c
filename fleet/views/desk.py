from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from fleet.actions.tags import report
from fleet.desk import morning_list
from fleet.desk_rows import rows_of
from fleet.forms.desk import ReportForm
from fleet.forms.round_acts import NumberForm
from fleet.models import Cart, Report
from fleet.reported import unanswered
from shared.models import Role
from shared.sent_before import one_of_its_content
from shared.viewer import allowed

AT_THE_DESK = (Role.DESK, Role.MANAGER, Role.MECHANIC)


@allowed(*AT_THE_DESK)
@require_safe
def desk(request):
    """Every cart with GO or NO, the NOs first; a number typed shows that cart alone, large."""
    reports = _reports(request)
    lines = sorted(_lines(request, reports), key=lambda line: line.said.goes)
    wanted, unknown = request.GET.get("number", "").strip(), ""
    if wanted:
        found = [line for line in lines if line.said.cart.number.casefold() == wanted.casefold()]
        if len(found) == 1:
            return redirect("desk-cart", request.site.slug, found[0].said.cart.pk)
        form = NumberForm({"number": wanted}, site=request.site, today=_today(request))
        if form.is_valid():
            return redirect("desk-cart", request.site.slug, form.cart.pk)
        unknown = form.errors["number"][0]
        lines = [line for line in lines if wanted.casefold() in line.said.cart.number.casefold()]
    context = {"lines": lines, "wanted": wanted, "unknown": unknown}
    context["noes"] = sum(not one.said.goes for one in lines)
    context["rows"] = rows_of(lines, request.site)
    return render(request, "fleet/desk.html", context | _reported(reports))


def _reports(request):
    """What was noticed and nobody has looked into: a cart that goes may have one."""
    return list(unanswered(request.viewer, request.site, request.viewer.at))


def _reported(reports):
    return {"reports": reports, "reports_lead_to": "desk-cart"}


def _today(request):
    return request.site.day(request.viewer.at)


def _lines(request, reports):
    return morning_list(request.viewer, request.site, _today(request), reports)


@allowed(*AT_THE_DESK)
@require_safe
def desk_cart(request, pk):
    cart, reports = _cart(request, pk), _reports(request)
    found = [line for line in _lines(request, reports) if line.said.cart.pk == cart.pk]
    context = {"line": found[0], "cart": cart, "noticed": Report.Noticed.choices}
    context |= _reported([report for report in reports if report.cart_id == cart.pk])
    return render(request, "fleet/desk_cart.html", context | {"form": ReportForm()})


@allowed(*AT_THE_DESK)
@require_safe
def desk_sheet(request):
    """The morning list on paper, in case the network falls over."""
    reports = _reports(request)
    context = {"lines": _lines(request, reports), "today": _today(request)}
    context |= _reported(reports) | {"at": request.viewer.at}
    return render(request, "fleet/desk_sheet.html", context)


@allowed(*AT_THE_DESK)
@require_POST
def report_create(request, pk):
    cart = _cart(request, pk)
    form = ReportForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Nothing was recorded: say what was noticed."))
        return redirect("desk-cart", request.site.slug, cart.pk)
    said, by = form.cleaned_data, request.viewer.person
    about = {"note": said["note"], "by": by, "at": request.viewer.at}
    about["id"] = one_of_its_content(said["act"], cart.pk, by.pk, said["noticed"], said["note"])
    report(cart, said["noticed"], **about)
    messages.success(request, _("Recorded. The shop sees it on its board."))
    return redirect("desk-cart", request.site.slug, cart.pk)


def _cart(request, pk):
    carts = Cart.objects.visible_to(request.viewer).in_fleet()
    return get_object_or_404(carts, pk=pk, site=request.site)
