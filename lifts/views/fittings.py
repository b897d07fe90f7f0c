from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext_lazy as _

from fleet.models import Cart
from lifts.actions import NotOnCart, fit, remove_lift, take_wheel_off
from lifts.forms import FittingForm, RemovalForm, WheelOffForm
from lifts.models import Fitting
from shared.facts import OtherBody
from shared.models import Role
from shared.viewer import allowed

SENT_BEFORE = _("This page was sent before, with other content: open it anew")


def _cart(request, pk):
    carts = Cart.objects.visible_to(request.viewer).in_fleet().select_related("site")
    return get_object_or_404(carts, pk=pk, site=request.site)


def _today(request):
    return request.site.day(request.viewer.at)


@allowed(Role.MANAGER, Role.MECHANIC)
def fitting_create(request, cart):
    cart = _cart(request, cart)
    form = FittingForm(cart, _today(request), request.POST or None)
    if request.method == "POST" and form.is_valid():
        kit = form.cleaned_data["kit"]
        if _done(request, form, fit, cart, kit, **form.about(), **form.when()):
            messages.success(request, _("Recorded. The fitting close-out is due now."))
            return redirect(cart)
    return _page(request, form, cart, _("A lift was fitted"))


@allowed(Role.MANAGER, Role.MECHANIC)
def fitting_remove(request, cart, pk):
    cart = _cart(request, cart)
    standing = Fitting.objects.visible_to(request.viewer).standing(request.viewer.at)
    fitting = get_object_or_404(standing.select_related("cart__site", "kit"), pk=pk, cart=cart)
    first_day = request.site.day(fitting.done_at)
    form = RemovalForm(cart, _today(request), request.POST or None, first_day=first_day)
    if request.method == "POST" and form.is_valid():
        when = form.when()
        # noon of its day may come before a lift fitted that afternoon
        when |= {"done_at": max(when["done_at"], fitting.done_at)} if when else {}
        if _done(request, form, remove_lift, fitting, form.cleaned_data["reason"], **when):
            messages.success(request, _("Recorded. The rechecks of this lift have ended."))
            return redirect(cart)
    return _page(request, form, cart, _("The lift was taken off"), fitting=fitting)


@allowed(Role.MANAGER, Role.MECHANIC)
def wheel_off_create(request, cart):
    cart = _cart(request, cart)
    form = WheelOffForm(cart, _today(request), request.POST or None)
    if request.method == "POST" and form.is_valid():
        about = {name: form.cleaned_data[name] for name in ("reason", "is_tyre_changed")}
        wheel = form.cleaned_data["wheel"]
        if _done(request, form, take_wheel_off, cart, wheel, **about, **form.when()):
            messages.success(request, _("Recorded. The lugs of that wheel are due again soon."))
            return redirect(cart)
    return _page(request, form, cart, _("A wheel was off"))


def _done(request, form, act, *about, **more):
    """Do the act; False when the form now says why it was not done."""
    who = {"by": request.viewer.person, "at": request.viewer.at}
    try:
        act(*about, id=form.cleaned_data["act"], **who, **more)
    except OtherBody:
        form.add_error(None, SENT_BEFORE)
    except NotOnCart:
        form.add_error(None, _("This lift is off the cart already"))
    return form.is_valid()


def _page(request, form, cart, heading, **more):
    context = {"form": form, "cart": cart, "heading": heading, **more}
    return render(request, "lifts/act_form.html", context)
