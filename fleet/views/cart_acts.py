"""What is recorded of a cart from its page, and taken back."""

import json

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from fleet.actions.corrections import strike_entry
from fleet.actions.meters import add_reading
from fleet.actions.register import Taken
from fleet.cart_acts import ACTS
from fleet.doubts import meters_of
from fleet.forms.reading import ReadingForm
from fleet.forms.register import say_taken
from fleet.forms.round_acts import StrikeForm
from fleet.models import Cart, Reading
from fleet.standing import running_of
from fleet.taking_back import stands_alone
from fleet.timeline import items_of
from fleet.views.carts import WRITERS, cart_for
from shared.facts import NotStanding, OtherBody
from shared.models import Entry, Role
from shared.sent_before import say_sent_before
from shared.viewer import allowed


def act_view(act):
    """Return the view of an act: its form, and on POST the act itself."""

    @allowed(*act.roles)
    def view(request, pk):
        cart = cart_for(request, pk)
        if cart.condition not in act.when:
            return _refused(request, cart)
        form = act.form_class(request.POST or None, cart=cart, viewer=request.viewer)
        if request.method == "POST" and form.is_valid() and _is_done(request, act, cart, form):
            return redirect(_after(request, cart))
        context = {"cart": cart, "form": form, "heading": act.title, "hint": act.hint}
        return render(request, "fleet/cart_act.html", context)

    return view


def _refused(request, cart):
    said = {"number": cart.number, "condition": cart.get_condition_display()}
    messages.warning(request, _("Cart %(number)s is %(condition)s: nothing was recorded.") % said)
    return redirect(cart)


def _is_done(request, act, cart, form):
    who = {"by": request.viewer.person, "at": request.viewer.at}
    return is_recorded(request, form, lambda: act.does(cart, form, who), act.done)


def is_recorded(request, form, act, done):
    """Do what a form asks for, and say ``done``; False when the form says now why it cannot be."""
    try:
        act()
    except Taken as taken:
        say_taken(form, taken, request.site, request.site.day(request.viewer.at))
        return False
    except OtherBody:
        say_sent_before(form)
        return False
    except NotStanding:
        form.add_error(None, _("It was told again meanwhile: open this page anew."))
        return False
    messages.success(request, done)
    return True


def _after(request, cart):
    """Return the cart's page, at its new site if it was moved."""
    return Cart.objects.visible_to(request.viewer).select_related("site").get(pk=cart.pk)


@allowed(*WRITERS)
def reading_create(request, pk):
    cart = cart_for(request, pk)
    if cart.condition == Cart.Condition.LEFT:
        return _refused(request, cart)
    facts = running_of([cart.pk])[cart.pk]
    # sent again, it is judged as it was the first time
    meters = meters_of(facts, request.site, but_reading=request.POST.get("act"))
    form = ReadingForm(request.POST or None, meters=meters, at=request.viewer.at)
    if request.method == "POST" and form.is_valid():
        if form.is_changed_meter:
            messages.warning(request, _("Nothing was recorded yet: first say which meter it is."))
            return redirect("cart-meter", request.site.slug, cart.pk)
        if form.is_earlier_wrong:
            return _to_the_wrong_figure(request, cart, form.doubted)
        if form.is_other_cart:
            messages.warning(
                request, _("Nothing was recorded at cart %s. Choose the right one.") % cart
            )
            return redirect("cart-list", request.site.slug)
        values = {**form.values(request.role), "by": request.viewer.person, "at": request.viewer.at}
        done = _("Recorded. What falls due was worked out anew.")
        if is_recorded(request, form, lambda: add_reading(cart, **values), done):
            return redirect(cart)
    context = {"cart": cart, "form": form, "fields": form.visible()}
    return render(request, "fleet/cart_reading.html", context)


def _to_the_wrong_figure(request, cart, measure):
    """Lead a manager to where the reading before is taken back: by itself, or with its round."""
    readings = Reading.objects.standing().filter(cart=cart, **{f"{measure}_shown__isnull": False})
    wrong = readings.exclude(source=Reading.Source.ESTIMATED).order_by("done_at", "id").last()
    if request.role != Role.MANAGER or wrong is None:
        said = _("Nothing was recorded: a manager first takes back the wrong figure, below here.")
        messages.warning(request, said)
        return redirect(cart)
    messages.warning(request, _("Nothing was recorded yet: first take back the wrong figure."))
    if wrong.round_id:
        return redirect("round-detail", request.site.slug, cart.pk, wrong.round_id)
    return redirect("entry-strike", request.site.slug, cart.pk, wrong.pk)


@allowed(Role.MANAGER)
def entry_strike(request, pk, entry):
    cart = cart_for(request, pk)
    row = get_object_or_404(Entry, fact_id=entry, cart_id=cart.pk)
    if not stands_alone(row.kind, json.loads(bytes(row.body))):
        raise Http404
    if cart.condition == Cart.Condition.LEFT:
        return _refused(request, cart)
    form = StrikeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        _strike(request, cart, row, form.cleaned_data["reason"])
        return redirect(cart)
    (item,) = items_of([row], cart)
    context = {"cart": cart, "form": form, "heading": _("Take an entry back"), "hint": _told(item)}
    return render(request, "fleet/cart_act.html", context)


def _told(item):
    said = {"entry": item.title, "detail": item.detail, "person": item.by}
    return (
        _("%(entry)s, by %(person)s: %(detail)s. It counts no more then, and stays readable.")
        % said
    )


def _strike(request, cart, row, reason):
    try:
        strike_entry(cart, row, reason=reason, by=request.viewer.person, at=request.viewer.at)
    except (NotStanding, OtherBody):
        messages.warning(request, _("It was taken back or told again before."))
    else:
        messages.success(request, _("Taken back. What falls due was worked out anew."))


VIEWS = {act.name: act_view(act) for act in ACTS}
