"""Camber and toe sheets as recorded: one, all of a cart, all of the carts with a kit."""

from django.db.models import Q
from django.http import Http404
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from alignment import kit_trends
from alignment.models import CamberToeSheet
from alignment.sheet_page import page_of
from alignment.spec_page import known_codes
from alignment.specs import ALL_CARTS
from alignment.tables_sheets import SheetTable
from alignment.told_sheets import MOST_SHEETS
from alignment.trends import trend_of
from fleet.kinds import Cut
from fleet.models import Cart
from shared.models import Role
from shared.tables import csv_response
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
PAGE_ROWS = 25


@allowed(*READERS)
@require_safe
def sheet_detail(request, cart, pk):
    """Show a sheet recorded at the site, or of a cart that has come to it since."""
    here = Q(site=request.site) | Q(cart__site=request.site)
    facts = CamberToeSheet.objects.filter(here, cart_id=cart)
    fact = get_object_or_404(facts.select_related("cart__site", "site", "by", "round"), pk=pk)
    context = {
        "page": page_of(fact),
        "cart": fact.cart,
        "is_here": fact.cart.site_id == request.site.pk,
    }
    return render(request, "alignment/sheet_detail.html", context)


@allowed(*READERS)
@require_safe
def sheet_list(request, cart):
    """Show how camber and toe of a cart went, and all its sheets."""
    carts = Cart.objects.visible_to(request.viewer).select_related("site")
    cart = get_object_or_404(carts, pk=cart, site=request.site)
    trend = trend_of(cart, request.viewer)
    table = SheetTable(trend.told, site=request.site)
    if request.GET.get("file") == "csv":
        return csv_response(table, table.csv_name)
    RequestConfig(request, paginate={"per_page": PAGE_ROWS}).configure(table)
    context = {"cart": cart, "trend": trend, "table": table, "most": MOST_SHEETS}
    return render(request, "alignment/sheet_list.html", context)


@allowed(*READERS)
@require_safe
def measured(request, code=ALL_CARTS):
    """Show how the carts with a kit measure, or with no code all carts of the site."""
    carts = Cart.objects.visible_to(request.viewer).in_fleet().filter(site=request.site)
    carts = list(carts.only("pk", "number", "tyre_mm", "site_id"))
    cut = Cut.known_now(request.viewer.at)
    if code and code not in known_codes(request.site, carts, cut):
        raise Http404
    found = kit_trends.measured(request.site, carts, code, cut)
    context = {"found": found, "code": code, "most": MOST_SHEETS}
    return render(request, "alignment/sheet_measured.html", context)
