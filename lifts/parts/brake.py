from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Cut, Hold, Outcome
from lifts import pieces
from lifts.fields import metres, si, typed
from lifts.lift_on import lift_on
from lifts.models import BrakeCheck
from lifts.parts.base import YES_OR_NO, Elsewhere, LiftPart, told, yes_or_no
from lifts.parts.brake_form import ASKED, MORE, BrakeForm
from lifts.stop_references import mean_share, reference_for, run_shares
from lifts.stopping import LOOKED_INTO_BELOW, share_of_reference
from shared.units import with_unit


class Brake(LiftPart):
    code = "brake"
    title = _("Brake")
    place = 60
    model = BrakeCheck
    form_class = BrakeForm
    template = "lifts/part_brake.html"
    cautions = BrakeForm.cautions
    pieces = frozenset({pieces.BRAKE, pieces.STOP_RUN})
    grades = YES_OR_NO

    def facts(self, round_fact, form, fact_fields):
        """Return the check, its stop runs held against those of before its own time."""
        found = super().facts(round_fact, form, fact_fields)
        done_at = fact_fields.get("done_at") or form.visit.at
        for check, _lines in found:
            if check.has_stop_runs and _was_lifted(form.visit, done_at):
                _hold_against(check, reference_for(form.visit, done_at))
        return found

    def read(self, form):
        said = form.cleaned_data
        plain = (*ASKED, *MORE, "bracket_moved", "time_1_s", "time_2_s")
        values = {name: said[name] for name in plain}
        for name in ("travel_before", "travel_after"):
            values |= {f"{name}_typed": typed(said[name]), f"{name}_mm": si(said[name])}
        for name in ("marked", "stop_1", "stop_2"):
            values |= {f"{name}_typed": typed(said[name]), f"{name}_m": metres(said[name])}
        return values, []

    def moved(self, old, fact, lines, cart, at):
        """Hold the stop runs against the other cart's own; those of an older check stay so."""
        if all(getattr(old, name) is None for name in BrakeCheck.added_later):
            return
        fact.reference_g, fact.reference_said = None, None
        if fact.has_stop_runs and lift_on(cart, Cut.known_now(fact.done_at)):
            there = Elsewhere(cart, at, old.round_id)
            _hold_against(fact, reference_for(there, fact.done_at))

    def outcome(self, fact, lines):
        wrong = list(_wrong(fact))
        holds = [Hold(pieces.BRAKE, reason) for reason, _tags in wrong]
        short = _too_little(fact)
        holds += [Hold(pieces.STOP_RUN, reason) for reason in short]
        done = {pieces.STOP_RUN} if fact.has_stop_runs and not short else set()
        done |= set() if wrong else {pieces.BRAKE}
        tags = [reason for reason, tags in wrong if tags]
        return Outcome(frozenset(done), tuple(holds), tag="; ".join(tags), is_critical=bool(tags))

    def verdicts(self, fact, lines):
        found = {
            "pedal high and firm": yes_or_no(not fact.is_pedal_low),
            "holds on slope": yes_or_no(fact.holds_on_slope),
            "cable free": yes_or_no(fact.cable_free),
        }
        later = {"equaliser even": fact.is_even, "jam nut nipped": fact.jam_nut_nipped}
        found |= {name: yes_or_no(said) for name, said in later.items() if said is not None}
        if fact.has_stop_runs and fact.reference_g:
            found["stop run against its reference"] = yes_or_no(not _too_little(fact))
        return found

    def said(self, fact, lines):
        wrong = [reason for reason, _tags in _wrong(fact)]
        detail = told(
            travel_before=with_unit(fact.travel_before_typed, "length", fact.travel_before_mm),
            travel_after=with_unit(fact.travel_after_typed, "length", fact.travel_after_mm),
            bracket_moved=fact.bracket_moved,
            equaliser_even=fact.is_even,
            jam_nut_nipped=fact.jam_nut_nipped,
        )
        yield ("brake", "; ".join(wrong) or "holds, cable free", detail)
        if fact.has_stop_runs:
            for n, share in enumerate(run_shares(fact), start=1):
                yield _stop_run(fact, n, share)
            yield ("stop runs, mean", f"{mean_share(fact):.2f} g", _held_against(fact))


def _was_lifted(visit, done_at):
    if done_at == visit.at:
        return visit.cart.is_lifted
    return lift_on(visit.cart, Cut.known_now(done_at)) is not None


def _hold_against(check, reference):
    check.reference_g, check.reference_said = reference.braking_g, reference.said


def _stop_run(fact, n, share):
    time_s = getattr(fact, f"time_{n}_s")
    approach = f"{_length_of(fact, 'marked')} in {time_s.normalize():f} s"
    return (f"stop run {n}", _length_of(fact, f"stop_{n}"), f"{approach}: {share:.2f} g")


def _length_of(fact, name):
    """Return a length as typed, with its unit: "40 in 2 s" would be inches."""
    return with_unit(getattr(fact, f"{name}_typed"), "length", getattr(fact, f"{name}_m") * 1000)


def _held_against(fact):
    if not fact.reference_g:
        return gettext("nothing to hold it against")
    said = {"share": _percent(fact), "g": f"{fact.reference_g:.2f}", "whose": fact.reference_said}
    return gettext("%(share)s %% of %(g)s g: %(whose)s") % said


def _percent(fact):
    return f"{100 * share_of_reference(mean_share(fact), fact.reference_g):.0f}"


def _too_little(fact):
    """Return the reason to look into the brake, in a list, where its runs call for that."""
    if not fact.has_stop_runs or not fact.reference_g:
        return []
    if share_of_reference(mean_share(fact), fact.reference_g) >= LOOKED_INTO_BELOW:
        return []
    said = {"g": f"{mean_share(fact):.2f}", "against": _held_against(fact)}
    return [gettext("Stop runs of %(g)s g, %(against)s: look into the brake") % said]


def _wrong(fact):
    """Yield (reason, whether it tags) for each thing found wrong."""
    if fact.is_pedal_low:
        yield gettext("Brake pedal low or soft"), True
    if not fact.holds_on_slope:
        yield gettext("Park brake does not hold"), True
    if not fact.cable_free:
        yield gettext("Brake cable not free at full droop"), False
    if fact.is_even is False:
        yield gettext("Brake equaliser not even left and right"), False
    if fact.jam_nut_nipped is False:
        yield gettext("Jam nut of the brake adjuster not nipped"), False
