"""Plates: scanned at a cart, printed as a sheet; and the round on paper."""

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.core.paginator import Paginator
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.cautions import CAUTIONS
from fleet.forms.round_acts import PlatesForm
from fleet.models import Cart
from fleet.paper import steps_on_paper
from fleet.visits import called_at, minutes_of, new_visit
from fleet.why_now import what
from shared.models import Role
from shared.plates import qr_svg
from shared.viewer import allowed

DOING_ROUNDS = (Role.MECHANIC, Role.MANAGER)
CARTS_A_PAGE = 30
PLACES = (gettext_lazy("dash"), gettext_lazy("rear frame"))


def plate(request, token):
    """Go from a scanned plate to the cart's round, or to the desk's answer; it opens nothing."""
    viewer = request.viewer
    if viewer.person is None:
        return redirect_to_login(request.get_full_path(), reverse("sign-in"))
    carts = Cart.objects.visible_to(viewer).select_related("site")
    cart = get_object_or_404(carts, plate=token)
    role = viewer.role_at(cart.site)
    if cart.condition == Cart.Condition.LEFT:
        return _left(request, cart, role)
    if role == Role.DESK:
        return redirect("desk-cart", cart.site.slug, cart.pk)
    if role not in DOING_ROUNDS:
        raise Http404
    return redirect(f"{reverse('round-create', args=[cart.site.slug, cart.pk])}?how=scanned")


def _left(request, cart, role):
    """Say since when the cart is gone: on its own page, which the desk may not see."""
    if role != Role.DESK:
        return redirect(cart)
    request.site, request.role = cart.site, role
    return render(request, "fleet/plate_left.html", {"cart": cart})


def _square_code(cart):
    address = f"{settings.FLEET_URL}{reverse('plate', args=[cart.plate])}"
    # drawn by segno; the only text in it is escaped there
    return mark_safe(qr_svg(address, title=_("Code of cart %s") % cart))


@allowed(*DOING_ROUNDS)
def plate_sheet(request):
    carts = Cart.objects.visible_to(request.viewer).filter(site=request.site).in_fleet()
    form = PlatesForm(request.GET)
    chosen = Paginator(form.chosen(carts.order_by("number", "pk")), CARTS_A_PAGE)
    page = chosen.get_page(request.GET.get("page"))
    plates = [(cart, _square_code(cart)) for cart in page]
    context = {"form": form, "page": page, "plates": plates, "places": PLACES}
    return render(request, "fleet/plate_sheet.html", context)


@allowed(*DOING_ROUNDS)
def round_sheet(request, pk):
    carts = Cart.objects.visible_to(request.viewer).filter(site=request.site).in_fleet()
    cart = get_object_or_404(carts.select_related("site"), pk=pk)
    called = called_at(cart, request.viewer.at)
    visit = new_visit(cart, request.viewer, called, whole="whole" in request.GET or not called)
    context = {
        "cart": cart,
        "code": _square_code(cart),
        "today": request.site.day(request.viewer.at),
        "called": [what(one.recheck) for one in called],
        "minutes": minutes_of(called),
        "steps": steps_on_paper(visit),
        "cautions": CAUTIONS,
    }
    return render(request, "fleet/round_sheet.html", context)
