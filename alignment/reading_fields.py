"""The fields of one pass: its step, what was turned, camber of both wheels, then toe.

Names, for pass 2: ``p2_step``; ``p2_left_turn``, ``p2_left_way`` (right and across the same);
``p2_left_top_1``, ``p2_left_bottom_1``, ``p2_left_half_1``, ``p2_left_gauge_1``; ``p2_front_1``,
``p2_rear_1``.
"""

import re

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from alignment.fields import FlatsField, MeasureField
from alignment.models import Side, Turn

FOUND, SLEEVE, ROD, DRIVE = "found", "sleeve", "rod", "drive"
STEPS = (FOUND, SLEEVE, ROD, DRIVE)
LONGER, SHORTER = "longer", "shorter"
WAYS = [(LONGER, _("longer")), (SHORTER, _("shorter"))]

MOST_PASSES = 12
CAMBER_READINGS = (1, 2, 3)
TOE_READINGS = (1, 2, 3, 4, 5)
GAP_MAX_MM = 500
TRACK_MM = (300, 3000)
GAUGE_MAX_DEG = 15

GAPS = {"top": _("gap at top"), "bottom": _("gap at bottom")}
TAPES = {"front": _("front of the tyres"), "rear": _("rear of the tyres")}
WHEELS = {Side.LEFT: _("left wheel"), Side.RIGHT: _("right wheel")}


def passes_in(data, prefix):
    """Return how many passes a page sent."""
    sent = str(data.get(f"{prefix}-passes", ""))
    # Python refuses to read thousands of digits as a number
    passes = int(sent) if re.fullmatch("[0-9]{1,9}", sent) else 1
    return min(max(passes, 1), MOST_PASSES)


def pass_fields(n, tape):
    """Return {name: field} of a pass, lengths in the unit of ``tape`` where none is typed."""
    fields = {f"p{n}_step": _step_field(STEPS if n > 1 else (FOUND,))}
    if n > 1:
        fields |= _turn_fields(n)
    for side in Side.values:
        fields |= _camber_fields(n, side, tape)
    return fields | _toe_fields(n, tape)


def _step_field(steps):
    choices = [(step, step) for step in steps]
    return forms.ChoiceField(choices=choices, required=False, widget=forms.HiddenInput)


def _turn_fields(n):
    fields = {}
    for at, where in Turn.At.choices:
        fields[f"p{n}_{at}_turn"] = FlatsField(label=_label(n, where, _("flats turned")))
        fields[f"p{n}_{at}_way"] = forms.ChoiceField(
            label=_label(n, where, _("turned")),
            choices=WAYS,
            required=False,
            widget=forms.RadioSelect,
        )
    return fields


def _camber_fields(n, side, tape):
    fields = {}
    for k in CAMBER_READINGS:
        for gap, what in GAPS.items():
            label = _label(n, WHEELS[side], what, k)
            fields[f"p{n}_{side}_{gap}_{k}"] = tape.length(label, (0, GAP_MAX_MM))
        fields[f"p{n}_{side}_gauge_{k}"] = _gauge_field(_label(n, WHEELS[side], _("gauge"), k))
        half = _label(n, WHEELS[side], _("after half a turn of the wheel"), k)
        fields[f"p{n}_{side}_half_{k}"] = forms.BooleanField(label=half, required=False)
    return fields


def _gauge_field(label):
    bound = {"lowest": -GAUGE_MAX_DEG, "highest": GAUGE_MAX_DEG}
    return MeasureField("angle", "deg", label=label, **bound)


def _toe_fields(n, tape):
    return {
        f"p{n}_{end}_{k}": tape.length(_label(n, _("toe"), what, k), TRACK_MM)
        for k in TOE_READINGS
        for end, what in TAPES.items()
    }


def _label(n, where, what, k=1):
    named = format_lazy(_("Pass {n}: {where}, {what}"), n=n, where=where, what=what)
    return named if k == 1 else format_lazy("{} {}", named, k)
