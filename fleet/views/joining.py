"""Carts taken into the fleet one by one."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from fleet.actions.register import Taken, join_cart
from fleet.forms.joining import JoinForm
from fleet.forms.register import say_taken
from fleet.models import Cart
from shared.facts import OtherBody
from shared.models import Role
from shared.viewer import allowed


@allowed(Role.MANAGER)
def cart_create(request):
    viewer = request.viewer
    form = JoinForm(request.POST or None, site=request.site, at=viewer.at)
    if request.method == "POST" and form.is_valid() and _is_joined(request, form):
        carts = Cart.objects.visible_to(viewer).select_related("site")
        return redirect(get_object_or_404(carts, pk=form.cart_id))
    return render(request, "fleet/cart_create.html", {"form": form})


def _is_joined(request, form):
    who = {"by": request.viewer.person, "at": request.viewer.at}
    try:
        join_cart(request.site, **form.values(), **who)
    except Taken as taken:
        say_taken(form, taken, request.site)
        return False
    except OtherBody:
        messages.warning(request, _("This was recorded before."))
    else:
        done = _("The cart is on record. Where it has a lift, record that the lift was fitted.")
        messages.success(request, done)
    return True
