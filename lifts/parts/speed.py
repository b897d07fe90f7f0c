from django import forms
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Outcome
from lifts import pieces
from lifts.fields import QuantityField, SecondsField, metres, unit_at
from lifts.models import SpeedRun
from lifts.parts.base import LiftPart, PartForm
from lifts.speed import both_ways_kmh
from shared.models import Site
from shared.units import shown

SHORTEST_RUN_MM, LONGEST_RUN_MM = 10_000, 2_000_000


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


class Speed(LiftPart):
    code = "speed"
    title = _("Speed run")
    place = 80
    model = SpeedRun
    form_class = SpeedForm
    template = "lifts/part_speed.html"
    cautions = SpeedForm.cautions
    pieces = frozenset({pieces.SPEED})

    def read(self, form):
        length = form.cleaned_data["length"]
        values = {"length_typed": length.typed, "length_m": metres(length)}
        names = ("time_1_s", "time_2_s", "conditions")
        return values | {name: form.cleaned_data[name] for name in names}, []

    def outcome(self, fact, lines):
        return Outcome(pieces=self.pieces)

    def verdicts(self, fact, lines):
        """Return the mean speed: a figure, which has no grade."""
        return {"speed": f"{_mean_kmh(fact):.1f} km/h"}

    def said(self, fact, lines):
        mean_kmh = _mean_kmh(fact)
        times = ", ".join(f"{time.normalize():f} s" for time in (fact.time_1_s, fact.time_2_s))
        detail = "; ".join(filter(None, (f"{fact.length_typed}: {times}", fact.conditions)))
        mph = shown(mean_kmh, "speed", Site.Units.INCH)
        yield ("speed", f"{mean_kmh:.1f} km/h = {mph}", detail)


def _mean_kmh(fact):
    return both_ways_kmh(fact.length_m, fact.time_1_s, fact.time_2_s)
