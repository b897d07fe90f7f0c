from django import forms
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Cut, Hold, Outcome
from lifts import pieces, speed_words
from lifts.classes import claims_at, class_claimed, copied, limit_copied, table_at
from lifts.fields import QuantityField, SecondsField, metres, unit_at
from lifts.models import SpeedRun
from lifts.parts.base import LiftPart, PartForm
from lifts.speed import BOUNDARY, CANT_TELL, OVER, UNDER, timed_speed, verdict
from lifts.tyre_changes import tyres_of, tyres_on
from shared.units import with_unit

LIMIT = ("limit_metric_kmh", "limit_inch_kmh", "limit_is_below")
SHORTEST_RUN_MM, LONGEST_RUN_MM = 10_000, 2_000_000
MOST_APART = 2  # no wind or slope of a level run makes this; judgement, no source


class SpeedForm(PartForm):
    cautions = (
        _("Belts on, one person, clear level road closed to others, brake test first."),
        _("Stop if the cart pulls, knocks or shakes."),
    )

    time_1_s = SecondsField(label=_("Time there, s"))
    time_2_s = SecondsField(label=_("Time back, s"))
    conditions = forms.CharField(
        required=False, max_length=200, label=_("Load, charge, slope, wind")
    )

    def build(self):
        self.fields["length"] = QuantityField(
            "length",
            unit=unit_at(self.visit.site, "length", paced=True),
            most_si=LONGEST_RUN_MM,
            label=_("Marked length"),
        )
        self.order_fields(["not_done", "length", "time_1_s", "time_2_s", "conditions"])

    def clean_length(self):
        length = self.cleaned_data["length"]
        if length.si < SHORTEST_RUN_MM:
            raise forms.ValidationError(_("Too short to time by hand; mark at least 10 m (33 ft)"))
        return length

    def clean(self):
        cleaned = super().clean()
        times = cleaned.get("time_1_s"), cleaned.get("time_2_s")
        if all(times) and max(times) > min(times) * MOST_APART and not cleaned.get("not_done"):
            self.add_error("time_2_s", _("One time is more than twice the other: time both again"))
        return cleaned

    def held_to(self):
        """Return in words the class that the cart is held to."""
        cut = self.visit.opening
        return speed_words.held_to(SpeedRun(**_class_of(self.visit.cart, cut)))


class Speed(LiftPart):
    code = "speed"
    title = _("Speed run")
    place = 80
    model = SpeedRun
    form_class = SpeedForm
    template = "lifts/part_speed.html"
    cautions = SpeedForm.cautions
    pieces = frozenset({pieces.SPEED})
    grades = {UNDER: 0, CANT_TELL: 1, BOUNDARY: 1, OVER: 2}

    def facts(self, round_fact, form, fact_fields):
        """Return the run, with the tyres and the class of its own day copied in."""
        found = super().facts(round_fact, form, fact_fields)
        cart, visit = form.visit.cart, form.visit
        cut = Cut(fact_fields.get("done_at") or visit.at, visit.known_by)
        for run, _lines in found:
            _copy_in(run, cart, cut)
        return found

    def moved(self, old, fact, lines, cart, at):
        """Copy in the tyres and the class of the other cart; an older run was asked of none."""
        if old.class_code is not None:
            for name in LIMIT:
                setattr(fact, name, None)
            _copy_in(fact, cart, Cut.known_now(fact.done_at))

    def read(self, form):
        length = form.cleaned_data["length"]
        values = {"length_typed": length.typed, "length_m": metres(length)}
        names = ("time_1_s", "time_2_s", "conditions")
        return values | {name: form.cleaned_data[name] for name in names}, []

    def outcome(self, fact, lines):
        if verdict_of(fact) != OVER:
            # a run of before its class was copied in was asked for no drive of its own
            drive = {pieces.DRIVE} if fact.class_code is None else set()
            return Outcome(pieces=self.pieces | drive)
        reason = speed_words.over(fact, timed(fact))
        return Outcome(
            holds=(Hold(pieces.SPEED, reason),),
            tag=reason if fact.tags_over else "",
            is_critical=bool(fact.tags_over),
        )

    def verdicts(self, fact, lines):
        """Return the mean speed, a figure without a grade, and what it proves of the class."""
        figure = {"speed": f"{timed(fact).kmh:.1f} km/h"}
        said = verdict_of(fact)
        return figure | {"speed class": said} if said else figure

    def said(self, fact, lines):
        times = ", ".join(f"{time.normalize():f} s" for time in (fact.time_1_s, fact.time_2_s))
        length = with_unit(fact.length_typed, "length", fact.length_m * 1000)
        detail = "; ".join(filter(None, (f"{length}: {times}", fact.conditions)))
        if fact.class_code is None:
            yield ("speed", speed_words.mean(timed(fact)), detail)
            return
        yield ("speed", speed_words.measured(timed(fact)), detail)
        yield ("speed class", *speed_words.judged(fact, verdict_of(fact)))


def timed(run):
    """Return the speed of a run, with its uncertainty."""
    return timed_speed(run.length_m, run.time_1_s, run.time_2_s)


def verdict_of(run) -> str:
    """Return what a run proves of the limit that it carries; empty without a class."""
    limit = limit_copied(run)
    return verdict(timed(run), limit) if limit else ""


def _copy_in(run, cart, cut):
    tyres = tyres_on(tyres_of(cart.pk, cut), cut.happened_by)
    run.tyre_mm = tyres and tyres.mm
    for name, value in _class_of(cart, cut).items():
        setattr(run, name, value)


def _class_of(cart, cut):
    table = table_at(cart.site_id, cut)
    claim = claims_at([cart.pk], cut).get(cart.pk)
    return copied(table, class_claimed(table, claim))
