"""Carts taken into the fleet one by one."""

from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from fleet.actions.register import join_cart
from fleet.forms.joining import JoinForm
from fleet.kinds import register
from fleet.models import Cart
from fleet.views.cart_acts import is_recorded
from shared.models import Role
from shared.viewer import allowed


@allowed(Role.MANAGER)
def cart_create(request):
    viewer = request.viewer
    form = JoinForm(request.POST or None, site=request.site, at=viewer.at)
    if request.method == "POST" and form.is_valid() and _is_joined(request, form):
        carts = Cart.objects.visible_to(viewer).select_related("site")
        cart = get_object_or_404(carts, pk=form.cart_id)
        return redirect(_lift_url(cart) if form.cleaned_data["has_lift"] else cart)
    return render(request, "fleet/cart_create.html", {"form": form})


def _is_joined(request, form):
    who = {"by": request.viewer.person, "at": request.viewer.at}
    done = _("Cart %(number)s is on record.") % form.cleaned_data
    return is_recorded(request, form, lambda: join_cart(request.site, **form.values(), **who), done)


def _lift_url(cart):
    return next((url_of(cart) for url_of in register.lift_urls), cart.get_absolute_url())
