"""The fields for readings: camber by square or gauge on both sides, then toe, twice over.

Names: ``found_left_top_1``, ``found_left_bottom_1``, ``found_left_gauge``,
``found_front_1``, ``found_rear_1``; ``left_...`` the same for the readings as left.
"""

from dataclasses import dataclass

from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from alignment.fields import MeasureField
from alignment.models import Side, Stage

READINGS = (1, 2, 3)
GAP_MAX_MM = 500
TRACK_MM = (300, 3000)
GAUGE_MAX_DEG = 15

GAPS = {"top": _("gap at top"), "bottom": _("gap at bottom")}
TAPES = {"front": _("front of the tyres"), "rear": _("rear of the tyres")}
WHEELS = {Side.LEFT: _("Left wheel"), Side.RIGHT: _("Right wheel")}


def reading_fields(length_unit):
    """Return {name: field} of every reading that a sheet has room for."""
    fields = {}
    for stage in Stage.values:
        for side in Side.values:
            fields |= _camber_fields(stage, side, length_unit)
        fields |= _toe_fields(stage, length_unit)
    return fields


def _camber_fields(stage, side, unit):
    fields = {
        f"{stage}_{side}_{gap}_{n}": MeasureField(
            "length", unit, lowest=0, highest=GAP_MAX_MM, label=_label(WHEELS[side], GAPS[gap], n)
        )
        for n in READINGS
        for gap in GAPS
    }
    gauge = MeasureField(
        "angle",
        "deg",
        lowest=-GAUGE_MAX_DEG,
        highest=GAUGE_MAX_DEG,
        fractions=False,
        label=format_lazy("{}, {}", WHEELS[side], _("gauge")),
        help_text=_("Instead of the square; minus = top leans in. Zero it on the floor first."),
    )
    return {**fields, f"{stage}_{side}_gauge": gauge}


def _toe_fields(stage, unit):
    lowest, highest = TRACK_MM
    return {
        f"{stage}_{end}_{n}": MeasureField(
            "length", unit, lowest=lowest, highest=highest, label=_label(_("Toe"), TAPES[end], n)
        )
        for n in READINGS
        for end in TAPES
    }


def _label(where, what, n):
    return (
        format_lazy("{}, {}", where, what) if n == 1 else format_lazy("{}, {} {}", where, what, n)
    )


@dataclass(frozen=True)
class Wheel:
    """A wheel's bound fields for a template: the first pair, the others, the gauge."""

    first: list
    more: list
    gauge: object

    @property
    def is_open(self):
        """Whether the other readings were used, so that they are shown at once."""
        return any(field.data or field.errors for field in [*self.more, self.gauge])


@dataclass(frozen=True)
class Tape:
    """The bound fields of toe for a template: the first pass and the others."""

    first: list
    more: list

    @property
    def is_open(self):
        return any(field.data or field.errors for field in self.more)


def wheels(form, stage):
    return [_wheel(form, stage, side) for side in Side.values]


def _wheel(form, stage, side):
    first, *rest = [[form[f"{stage}_{side}_{gap}_{n}"] for gap in GAPS] for n in READINGS]
    more = [field for pair in rest for field in pair]
    return Wheel(first, more, form[f"{stage}_{side}_gauge"])


def tape(form, stage):
    first, *rest = [[form[f"{stage}_{end}_{n}"] for end in TAPES] for n in READINGS]
    return Tape(first, [field for pair in rest for field in pair])
