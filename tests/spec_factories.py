"""Camber and toe figures of kits for tests: what a maker's sheet would say."""

from decimal import Decimal

from alignment.models import AlignmentSpec
from shared.facts import record
from shared.models import new_id
from tests.alignment_factories import mm

LIMITS = {
    "camber_low_deg": Decimal("-0.5"),
    "camber_high_deg": Decimal("0.5"),
    "side_to_side_deg": Decimal("0.5"),
    "toe_low_mm": mm("1/8"),
    "toe_high_mm": mm("1/4"),
}
ROD = {
    "rods": "two",
    "rod_ends": "single",
    "rod_pitch_mm": Decimal("1.25"),
    "rod_pitch_typed": "1.25 mm",
    "arm_mm": mm("4.5"),
    "arm_typed": "4.5 in",
    "arm": "ahead",
    "rod_height_mm": mm("1.75"),
    "rod_height_typed": "1.75 in",
}
SLEEVE = {
    "camber_adjusts": "sleeve",
    "sleeve_ends": "double",
    "sleeve_pitch_mm": Decimal("1.25"),
    "sleeve_pitch_typed": "1.25 mm",
    "knuckle_mm": mm("5.5"),
    "knuckle_typed": "5.5 in",
}


def spec_values(**values):
    """Return what may be told of a kit: its limits alone where nothing else is asked for."""
    return {"source": "HX-4 sheet, edition B", **LIMITS, **values}


def a_spec(site, by, at, kit_code="hx-4", id=None, **values):
    """Record figures as told, whatever they say."""
    told = spec_values(**values)
    spec = AlignmentSpec(id=id or new_id(), site=site, kit_code=kit_code, by=by, **told)
    return record(spec, at=at).fact
