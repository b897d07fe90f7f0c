"""What is asked of a cart's brake: one tap where all is well, and two stop runs."""

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts import pieces
from lifts.fields import QuantityField, SecondsField, YesNoField, unit_at
from lifts.parts.base import PartForm

ASKED = ("is_pedal_low", "holds_on_slope", "cable_free")
MORE = ("is_even", "jam_nut_nipped")
GOOD = dict.fromkeys((*ASKED, *MORE), True) | {"is_pedal_low": False}
TRAVELS = ("travel_before", "travel_after")
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

    as_it_should_be = forms.BooleanField(
        required=False,
        label=_(
            "Pedal firm and high, park brake holds on a slope, cable free at full droop, "
            "equaliser even, jam nut nipped"
        ),
    )
    is_pedal_low = YesNoField(required=False, label=_("Is the pedal low or soft?"))
    holds_on_slope = YesNoField(required=False, label=_("Does the park brake hold on a slope?"))
    cable_free = YesNoField(required=False, label=_("Is the cable free at full droop?"))
    is_even = YesNoField(required=False, label=_("Is the equaliser even left and right?"))
    jam_nut_nipped = YesNoField(required=False, label=_("Is the adjuster’s jam nut nipped?"))
    bracket_moved = YesNoField(required=False, label=_("Was the cable’s bracket moved?"))
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
                "length",
                unit=unit,
                most_si=most_mm,
                may_be_nought=name in TRAVELS,
                required=False,
                label=label,
            )

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("as_it_should_be"):
            for name, good in GOOD.items():
                cleaned[name] = good if cleaned.get(name) is None else cleaned[name]
        if not cleaned.get("not_done"):
            self._ask(cleaned)
        return cleaned

    def _ask(self, cleaned):
        for name in ASKED:
            if cleaned.get(name) is None and name not in self._errors:
                self.add_error(name, self.fields[name].error_messages["required"])
        given = [name for name in RUN_FIELDS if cleaned.get(name) is not None]
        for name in RUN_FIELDS if given else ():
            if name not in given and name not in self._errors:
                self.add_error(name, gettext("A stop run needs this too, both times"))

    def presses(self):
        return [self[name] for name in ASKED]

    def more(self):
        names = (*MORE, "bracket_moved", "travel_before", "travel_after")
        return [self[name] for name in names]

    def runs(self):
        return [self[name] for name in RUN_FIELDS]

    def has_run(self):
        """Whether something of a stop run was typed, or is called for."""
        is_wanted = pieces.STOP_RUN in self.visit.pieces
        return is_wanted or any(self[name].value() for name in RUN_FIELDS)
