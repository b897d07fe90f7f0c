from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Hold, Outcome
from lifts import pieces
from lifts.fields import QuantityField, SecondsField, YesNoField, metres, si, typed, unit_at
from lifts.models import BrakeCheck
from lifts.parts.base import YES_OR_NO, LiftPart, PartForm, told, yes_or_no
from lifts.stopping import braking_share

PRESSED = ("is_pedal_low", "holds_on_slope", "cable_free")
RUN_FIELDS = ("marked", "time_1_s", "stop_1", "time_2_s", "stop_2")


class BrakeForm(PartForm):
    """Travel and hold; the two stop runs are all there or left out."""

    cautions = (
        _("No air gun on brake dust."),
        _(
            "Test drive: clear area, low speed, belts on, brake test before speed, one person. "
            "Stop if it pulls, knocks or shakes."
        ),
    )

    is_pedal_low = YesNoField(label=_("Is the pedal low or soft?"))
    holds_on_slope = YesNoField(label=_("Does the park brake hold on a slope?"))
    cable_free = YesNoField(label=_("Is the cable free at full droop?"))
    time_1_s = SecondsField(required=False, label=_("First run: time over the length, s"))
    time_2_s = SecondsField(required=False, label=_("Second run: time over the length, s"))

    def build(self):
        travel, paced = (
            unit_at(self.visit.site, "length"),
            unit_at(self.visit.site, "length", paced=True),
        )
        for name, label, unit, most_mm in (
            ("travel_before", _("Pedal free travel before"), travel, 300),
            ("travel_after", _("Pedal free travel after"), travel, 300),
            ("marked", _("Marked length of the approach"), paced, 100_000),
            ("stop_1", _("First run: distance to the stop"), paced, 100_000),
            ("stop_2", _("Second run: distance to the stop"), paced, 100_000),
        ):
            self.fields[name] = QuantityField(
                "length", unit=unit, most_si=most_mm, required=False, label=label
            )

    def clean(self):
        cleaned = super().clean()
        given = [name for name in RUN_FIELDS if cleaned.get(name) is not None]
        if given and not cleaned.get("not_done"):
            for name in RUN_FIELDS:
                if name not in given and name not in self._errors:
                    self.add_error(name, gettext("A stop run needs this too, both times"))
        return cleaned

    def presses(self):
        return [self[name] for name in PRESSED]

    def travel(self):
        return [self["travel_before"], self["travel_after"]]

    def runs(self):
        return [self[name] for name in RUN_FIELDS]

    def has_run(self):
        """Whether something of a stop run was typed, or is called for."""
        is_wanted = pieces.STOP_RUN in self.visit.pieces
        return is_wanted or any(self[name].value() for name in RUN_FIELDS)


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

    def read(self, form):
        said = form.cleaned_data
        plain = (*PRESSED, "time_1_s", "time_2_s")
        values = {name: said[name] for name in plain}
        for name in ("travel_before", "travel_after"):
            values |= {f"{name}_typed": typed(said[name]), f"{name}_mm": si(said[name])}
        for name in ("marked", "stop_1", "stop_2"):
            values |= {f"{name}_typed": typed(said[name]), f"{name}_m": metres(said[name])}
        return values, []

    def outcome(self, fact, lines):
        wrong = list(_wrong(fact))
        holds = [Hold(pieces.BRAKE, reason) for reason, _tags in wrong]
        done = {pieces.STOP_RUN} if fact.has_stop_runs else set()
        done |= set() if wrong else {pieces.BRAKE}
        tags = [reason for reason, tags in wrong if tags]
        return Outcome(frozenset(done), tuple(holds), tag="; ".join(tags), is_critical=bool(tags))

    def verdicts(self, fact, lines):
        return {
            "pedal high and firm": yes_or_no(not fact.is_pedal_low),
            "holds on slope": yes_or_no(fact.holds_on_slope),
            "cable free": yes_or_no(fact.cable_free),
        }

    def said(self, fact, lines):
        wrong = [reason for reason, _tags in _wrong(fact)]
        travel = told(travel_before=fact.travel_before_typed, travel_after=fact.travel_after_typed)
        yield ("brake", "; ".join(wrong) or "holds, cable free", travel)
        if fact.has_stop_runs:
            yield _stop_run(fact, 1)
            yield _stop_run(fact, 2)


def _stop_run(fact, n):
    time_s, stop_m = getattr(fact, f"time_{n}_s"), getattr(fact, f"stop_{n}_m")
    share = braking_share(fact.marked_m, time_s, stop_m)
    approach = f"{fact.marked_typed} in {time_s.normalize():f} s"
    return (f"stop run {n}", getattr(fact, f"stop_{n}_typed"), f"{approach}: {share:.2f} g")


def _wrong(fact):
    """Yield (reason, whether it tags) for each thing found wrong."""
    if fact.is_pedal_low:
        yield gettext("Brake pedal low or soft"), True
    if not fact.holds_on_slope:
        yield gettext("Park brake does not hold"), True
    if not fact.cable_free:
        yield gettext("Brake cable not free at full droop"), False
