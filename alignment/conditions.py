"""What is asked before measuring: ticks, tyre pressures, the floor, how camber is adjusted."""

from decimal import Decimal

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment.fields import MeasureField, as_read, si
from alignment.models import CamberAdjusts, CamberToeSheet, Side
from alignment.steering_wheel import Stands
from shared.units import UNITS_OF, convert

PRESSURES = ("pressure_set", "pressure_left", "pressure_right")
FLOOR = ("floor_low_side", "floor_fall", "floor_over")
WHEEL = ("wheel_stands", "wheel_off")
CONDITIONS = (
    "ready",
    *PRESSURES,
    "floor",
    *FLOOR,
    "after_kerb_hit",
    "camber_adjusts",
    *WHEEL,
)
LEVEL, ALIKE, PLATES = "level", "alike", "plates"
PRESSURE_KPA = (10, 500)
FLOOR_FALL_MM = (0, 200)
FLOOR_OVER_MM = (100, 5000)
WHEEL_OFF_DEG = (0, 15)
EVEN_WITHIN_PSI = 1  # common practice, no source
EVEN_WITHIN_KPA = convert(Decimal(EVEN_WITHIN_PSI), "psi", "kPa")

TICKS = tuple(name for name in CamberToeSheet.READY if name != "pressures_equal")
READY = [(name, CamberToeSheet._meta.get_field(name).verbose_name) for name in TICKS]
LEVEL_OR_NOT = [
    (LEVEL, _("measured: level")),
    (ALIKE, _("slopes, cart and square stand on it alike: nothing to correct")),
    (PLATES, _("slopes, the wheels stand on level plates: corrected")),
    ("", _("not measured")),
]
STANDS = [
    ("", _("not looked at")),
    ("centred", _("centred")),
    (Side.LEFT, _("to the left")),
    (Side.RIGHT, _("to the right")),
]
WHEEL_ASKED = _("For the advice on the tie rods alone; what is turned is what is recorded.")
SLOPE_ASKED = _(
    "On one plane floor the square leans with the cart. With plates under the wheels alone it "
    "does not: then low side, fall and width are needed."
)


def condition_fields(system, tape):
    """Return {name: field} of all that is asked before measuring, in a site's units or a tape's."""
    return {
        "ready": ticks(_("Before measuring"), READY),
        **_pressure_fields(UNITS_OF[system]["pressure"]),
        **_floor_fields(tape),
        "after_kerb_hit": tick(_("A kerb or a pothole was hit since the last sheet")),
        "camber_adjusts": forms.ChoiceField(
            label=_("Camber is adjusted"),
            choices=[("", _("not known")), *CamberAdjusts.choices],
            required=False,
        ),
        **_wheel_fields(),
    }


def _wheel_fields():
    lowest, highest = WHEEL_OFF_DEG
    return {
        "wheel_stands": forms.ChoiceField(
            label=_("As found, driving straight, the steering wheel stands"),
            choices=STANDS,
            required=False,
            help_text=WHEEL_ASKED,
        ),
        "wheel_off": MeasureField(
            "angle",
            "deg",
            label=_("Steering wheel centred, the front wheels point off straight by"),
            lowest=lowest,
            highest=highest,
        ),
    }


def stands(cleaned):
    """Return how the steering wheel stood off as found, None where it did not."""
    off = cleaned.get("wheel_off")
    if cleaned.get("wheel_stands") not in Side.values:
        return None
    return Stands(cleaned["wheel_stands"], float(off.si) if off else None)


def tick(label):
    return forms.BooleanField(label=label, required=False)


def ticks(label, choices):
    return forms.MultipleChoiceField(
        label=label, choices=choices, widget=forms.CheckboxSelectMultiple, required=False
    )


def _pressure_fields(unit):
    lowest, highest = PRESSURE_KPA
    labels = (_("Pressure, set to"), _("Left tyre, cold"), _("Right tyre, cold"))
    return {
        name: MeasureField("pressure", unit, label=label, lowest=lowest, highest=highest)
        for name, label in zip(PRESSURES, labels, strict=True)
    }


def _floor_fields(tape):
    return {
        "floor": forms.ChoiceField(
            label=_("Floor"),
            choices=LEVEL_OR_NOT,
            required=False,
            widget=forms.RadioSelect,
            help_text=SLOPE_ASKED,
        ),
        "floor_low_side": forms.ChoiceField(
            label=_("Floor is low on the"),
            choices=[("", _("not said")), *Side.choices],
            required=False,
        ),
        "floor_fall": tape.length(_("Floor falls by"), FLOOR_FALL_MM),
        "floor_over": tape.length(_("over a width of"), FLOOR_OVER_MM),
    }


def uneven(cleaned):
    """Yield in words how the tyre pressures differ by more than 1 psi."""
    at, left, right = (cleaned.get(name) for name in PRESSURES)
    if left and right and _apart(left, right):
        yield gettext("Left and right tyre differ by more than 1 psi.")
    for tyre, words in (
        (left, gettext("The left tyre is more than 1 psi off what it is set to.")),
        (right, gettext("The right tyre is more than 1 psi off what it is set to.")),
    ):
        if at and tyre and _apart(at, tyre):
            yield words


def _apart(one, other):
    return abs(one.si - other.si) > EVEN_WITHIN_KPA


def not_said(cleaned):
    """Return in short what is not known to be right before measuring."""
    ticks = [label for name, label in READY if name not in cleaned.get("ready", ())]
    even = [] if _are_even(cleaned) else [gettext("tyre pressures")]
    floor = [] if cleaned.get("floor") else [gettext("floor")]
    return [*map(str, ticks), *even, *floor]


def condition_values(cleaned):
    """Return the sheet's fields for all that was said before measuring."""
    floor = cleaned.get("floor") or ""
    slopes = floor in (ALIKE, PLATES)
    return {
        **{name: name in cleaned["ready"] for name in TICKS},
        "pressures_equal": _are_even(cleaned),
        **_kpa(cleaned),
        "floor_level": {LEVEL: True, ALIKE: False, PLATES: False}.get(floor),
        "floor_plates": {ALIKE: False, PLATES: True}.get(floor),
        "floor_low_side": cleaned["floor_low_side"] if slopes else "",
        **_floor(cleaned if slopes else {}),
        "after_kerb_hit": cleaned["after_kerb_hit"],
        "camber_adjusts": cleaned["camber_adjusts"],
    }


def _are_even(cleaned):
    """Whether both tyres were read, and neither differs from the other or from its set value."""
    read = cleaned.get("pressure_left") and cleaned.get("pressure_right")
    return bool(read) and not list(uneven(cleaned))


def _kpa(cleaned):
    typed = {f"{name}_typed": as_read(cleaned.get(name)) for name in PRESSURES}
    return {f"{name}_kpa": _to_places(cleaned.get(name)) for name in PRESSURES} | typed


def _to_places(measure):
    return None if measure is None else round(measure.si, 3)


def _floor(cleaned):
    pairs = {name: cleaned.get(name) for name in FLOOR[1:]}
    return {
        **{f"{name}_mm": si(measure) for name, measure in pairs.items()},
        **{f"{name}_typed": as_read(measure) for name, measure in pairs.items()},
    }
