"""A round afterwards: read, countersigned, moved or taken back."""

from django.contrib import messages
from django.db.models import Q
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from fleet.actions.corrections import move_round, strike_round
from fleet.actions.countersigns import NotWaiting, countersign_round
from fleet.fitted import BeforeFitting
from fleet.forms.round_acts import CountersignForm, StrikeForm
from fleet.forms.round_move import MoveForm
from fleet.kinds import Cut, register
from fleet.models import Round
from fleet.round_result import result_of
from shared.facts import NotStanding, OtherBody
from shared.models import Role
from shared.viewer import allowed


def _round(request, cart, pk):
    """Return a round done at the site, or at a cart that has come to it since."""
    here = Q(site=request.site) | Q(cart__site=request.site)
    rounds = Round.objects.filter(here, cart_id=cart)
    return get_object_or_404(rounds.select_related("cart__site", "by"), pk=pk)


def _own_round(request, cart, pk):
    """Return a round in the site's own journal, where it may be taken back."""
    row = _round(request, cart, pk)
    if row.site_id != request.site.pk:
        raise Http404
    return row


@allowed(Role.MECHANIC, Role.MANAGER, Role.SURVEYOR)
def round_detail(request, cart, pk):
    row = _round(request, cart, pk)
    is_manager = request.role == Role.MANAGER
    context = {
        "result": result_of(row, request.viewer.at),
        "notes": _notes(row, request),
        "leads": register.leads_from(row.cart, request.viewer),
        "after": register.leads_after(row, request.viewer),
        "round": row,
        "cart": row.cart,
        "is_here": row.cart.site_id == request.site.pk,
        "may_act": is_manager and row.site_id == request.site.pk,
        "countersign_form": CountersignForm() if is_manager else None,
    }
    return render(request, "fleet/round_detail.html", context)


def _notes(row, request):
    cut = Cut.known_now(request.viewer.at)
    return [note for notes in register.round_notes for note in notes(row, request.site, cut)]


@allowed(Role.MANAGER)
def round_countersign(request, cart, pk):
    row = _round(request, cart, pk)
    if row.cart.site_id != request.site.pk:
        raise Http404
    form = CountersignForm(request.POST or None)
    who = {"by": request.viewer.person, "at": request.viewer.at}
    if request.method == "POST" and form.is_valid():
        try:
            countersign_round(row, reason=form.cleaned_data["reason"], **who)
        except NotWaiting:
            messages.warning(request, _("The round waits for no countersign."))
        else:
            messages.success(request, _("Countersigned: the round closes what it did."))
        return redirect("round-detail", request.site.slug, cart, pk)
    return render(request, "fleet/round_countersign.html", {"form": form, "round": row})


@allowed(Role.MANAGER)
def round_strike(request, cart, pk):
    row = _own_round(request, cart, pk)
    form = StrikeForm(request.POST or None)
    who = {"by": request.viewer.person, "at": request.viewer.at}
    if request.method == "POST" and form.is_valid():
        try:
            strike_round(row, reason=form.cleaned_data["reason"], **who)
        except (NotStanding, OtherBody):
            messages.warning(request, _("It was taken back or told again before."))
        else:
            messages.success(request, _("The round is taken back. It stays readable here."))
        return redirect("round-detail", request.site.slug, cart, pk)
    return render(request, "fleet/round_strike.html", {"form": form, "round": row})


@allowed(Role.MANAGER)
def round_move(request, cart, pk):
    row = _own_round(request, cart, pk)
    today = request.site.day(request.viewer.at)
    form = MoveForm(request.POST or None, row=row, site=request.site, today=today)
    if request.method == "POST" and form.is_valid():
        try:
            moved = _move(request, row, form)
        except (NotStanding, OtherBody):
            messages.warning(request, _("It was taken back or told again before."))
            return redirect("round-detail", request.site.slug, cart, pk)
        except BeforeFitting:
            form.add_error("number", _("No lift was on that cart yet when the round was done."))
        else:
            messages.success(request, _("The round is on cart %s now.") % form.cart)
            return redirect("round-detail", request.site.slug, form.cart.pk, moved.pk)
    return render(request, "fleet/round_move.html", {"form": form, "round": row})


def _move(request, row, form):
    return move_round(
        row,
        form.cart,
        reason=form.cleaned_data["reason"],
        reading=None if form.leaves_reading or form.read is None else form.answers(),
        by=request.viewer.person,
        at=request.viewer.at,
    )
