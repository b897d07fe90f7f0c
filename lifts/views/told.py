from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from fleet.gather import TOLD_COUNTS
from fleet.models import Cart
from lifts.actions import NotTold, count_told, strike_told
from lifts.forms_told import CountForm, WhyForm
from shared.facts import NotStanding
from shared.models import Change, Role
from shared.viewer import allowed


def _cart(request, pk):
    carts = Cart.objects.visible_to(request.viewer).in_fleet().select_related("site")
    return get_object_or_404(carts, pk=pk, site=request.site)


@allowed(Role.MANAGER)
@require_POST
def told_count(request, cart):
    """Let a day of work that was told count as if it had been seen."""
    cart, form = _cart(request, cart), CountForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Nothing was recorded: say why it counts."))
        return redirect(cart)
    try:
        change = count_told(cart, **form.cleaned_data, **_who(request))
    except NotTold:
        messages.warning(request, _("Nothing was recorded: that day counts already, or cannot."))
        return redirect(cart)
    if cart.rechecks.filter(anchor_id=change.pk).exists():
        messages.success(request, _("Recorded. The next one is counted from that day."))
    else:
        messages.warning(request, _("Recorded. No rule asks for it again at this cart."))
    return redirect(cart)


@allowed(Role.MANAGER)
@require_POST
def told_strike(request, cart, pk):
    cart, form = _cart(request, cart), WhyForm(request.POST)
    counts = Change.objects.filter(what=TOLD_COUNTS, cart_id=cart.pk)
    change = get_object_or_404(counts, pk=pk)
    if not form.is_valid():
        messages.error(request, _("Nothing was recorded: say why it is taken back."))
        return redirect(cart)
    try:
        strike_told(cart, change, **form.cleaned_data, **_who(request))
    except NotStanding:
        messages.warning(request, _("It was taken back before."))
    else:
        messages.success(request, _("Taken back: the day is told, not seen, and counts no more."))
    return redirect(cart)


def _who(request):
    return {"by": request.viewer.person, "at": request.viewer.at}
