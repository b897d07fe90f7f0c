from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from fleet.kinds import Cut
from fleet.models import Cart
from lifts.actions.stability import add_stability, correct_stability
from lifts.forms_stability import CorrectForm, StabilityForm, first_values
from lifts.models import StabilityMeasure
from lifts.stability_page import drawn, rows_of
from lifts.stances import compared
from shared.facts import NotStanding, OtherBody
from shared.models import Role
from shared.sent_before import say_sent_before
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
WRITERS = (Role.MANAGER, Role.MECHANIC)


def _cart(request, pk):
    carts = Cart.objects.visible_to(request.viewer).select_related("site")
    return get_object_or_404(carts, pk=pk, site=request.site)


@allowed(*READERS)
@require_safe
def stability_detail(request, cart):
    cart, at = _cart(request, cart), request.viewer.at
    found = compared(cart, Cut.known_now(at))
    measures = StabilityMeasure.objects.standing().filter(cart=cart).select_related("by")
    may_write = request.role in WRITERS and cart.condition != Cart.Condition.LEFT
    context = {
        "cart": cart,
        "found": found,
        "rows": rows_of(found, cart.site.units) if found else [],
        "drawing": drawn(found, cart) if found else "",
        "measures": measures.prefetch_related("lines").order_by("-done_at", "-id"),
        "may_write": may_write,
    }
    return render(request, "lifts/stability_detail.html", context)


@allowed(*WRITERS)
def stability_create(request, cart):
    cart = get_object_or_404(Cart.objects.in_fleet(), pk=_cart(request, cart).pk)
    form = StabilityForm(cart, request.site.day(request.viewer.at), request.POST or None)
    if request.method == "POST" and form.is_valid():
        when = form.when()
        if _done(request, form, add_stability, cart, form.lines(), **form.about(), **when):
            return redirect("stability-detail", request.site.slug, cart.pk)
    return _page(request, form, cart, _("Weigh and measure for stability"))


@allowed(*WRITERS)
def stability_correct(request, cart, pk):
    cart = get_object_or_404(Cart.objects.in_fleet(), pk=_cart(request, cart).pk)
    standing = StabilityMeasure.objects.standing()
    measure = get_object_or_404(standing, pk=pk, cart=cart)
    form = CorrectForm(cart, request.site.day(request.viewer.at), request.POST or None)
    form.initial |= first_values(measure, measure.lines.order_by("place"))
    if request.method == "POST" and form.is_valid():
        about = form.about() | {"reason": form.cleaned_data["reason"]}
        if _done(request, form, correct_stability, measure, form.lines(), **about):
            return redirect("stability-detail", request.site.slug, cart.pk)
    return _page(request, form, cart, _("Tell the weighing again"))


def _done(request, form, act, *about, **more):
    """Do the act; False when the form now says why it was not done."""
    who = {"by": request.viewer.person, "at": request.viewer.at}
    try:
        act(*about, id=form.cleaned_data["act"], **who, **more)
    except OtherBody:
        say_sent_before(form)
    except NotStanding:
        form.add_error(None, _("It was taken back or told again before."))
    else:
        messages.success(request, _("Recorded."))
    return form.is_valid()


def _page(request, form, cart, heading):
    context = {"form": form, "cart": cart, "heading": heading}
    return render(request, "lifts/stability_form.html", context)
