"""A site's camber and toe for bundles: figures told, and a sheet worked through in four passes."""

from decimal import Decimal

from alignment.models import CamberReading
from fleet.actions.rounds import TakenDown, save_round
from shared.models import new_id
from tests.alignment_factories import GaugeFactory, PassesFactory, ToeFactory, TurnFactory, mm
from tests.fleet.bundling import on
from tests.round_factories import Told
from tests.spec_factories import ROD, SLEEVE, a_spec

MEASURED = on(3, 12)
KINDS = {"alignment.cambertoesheet", "alignment.alignmentspec"}


def tell_of_alignment(fleet, cart, at=MEASURED, **fields):
    """Let figures be told twice, and a cart be brought from outside to inside; return its sheet."""
    a_spec(fleet.site, fleet.manager, on(3, 5), kit_code="", source="Board of the harbour")
    spec = a_spec(fleet.site, fleet.manager, on(3, 6), kit_code="", note="=Rods", **ROD, **SLEEVE)
    said = {"spec": spec.pk, "limits_from": f"site's own: {spec.source}", **DONE, **fields}
    return measured(fleet, cart, at, PassesFactory.build(**said), worked_lines())


def measured(fleet, cart, at, sheet, lines):
    """Save a round of one sheet; return the sheet."""
    visit = TakenDown(new_id(), opened_at=at, parts=[(Told("camber-toe", sheet, lines), None)])
    save_round(cart, visit, by=fleet.mechanic, at=at)
    return sheet


DONE = {
    "passes": 4,
    "drive_pass": 4,
    "driven": True,
    "camber_turned_left": True,
    "tie_rod_turned": True,
    "pressure_set_kpa": Decimal("137.895"),
    "pressure_set_typed": "20 psi",
    "use_hours": Decimal("7.50"),
    "is_settled": False,
    "after_kerb_hit": False,
    "camber_adjusts": "sleeve",
    "wheel_centred": True,
    "jam_nuts": True,
    "asked_for_more": False,
}


def worked_lines():
    """The left sleeve is turned, then both rods, then it is driven and both are read again."""
    return [
        square("left", "3/8", "1/16", 1),
        square("right", "1/8", "1/8", 1),
        tape("36 3/8", 1),
        TurnFactory.build(pass_no=2, formula_deg=Decimal("1.5"), predicted_deg=Decimal("0.01")),
        square("left", "1/8", "1/8", 2),
        tape("36 3/8", 2),
        *(_rod(side) for side in ("left", "right")),
        tape("36 1/16", 3),
        square("left", "1/8", "1/8", 4),
        GaugeFactory.build(side="right", stage="left", pass_no=4, half_turn=True),
        *(tape(rear, 4) for rear in ("36 1/16", "36 3/32", "36 1/32")),
    ]


def _rod(side):
    turned = {"what": "rod", "at": side, "longer_flats": Decimal(4)}
    told = {"formula_mm": Decimal("-4.07"), "predicted_mm": mm("0.179")}
    return TurnFactory.build(pass_no=3, **turned, **told)


def in_two_passes(step, *, lean="0", rear="36 1/16", **said):
    """Return a part told: ``step`` turned, then both cambers at ``lean`` and toe, read again."""
    at = "across" if step == "rod" else "left"
    again = {"stage": "left", "pass_no": 2}
    lines = [
        *(GaugeFactory.build(side=side, pass_no=1) for side in ("left", "right")),
        tape("36 3/8", 1),
        TurnFactory.build(what=step, at=at),
        *(GaugeFactory.build(side=side, gauge_deg=lean, **again) for side in ("left", "right")),
        *(tape(rear, 2) for _ in range(3)),
    ]
    return Told("camber-toe", PassesFactory.build(passes=2, **said), lines)


def square(side, top, bottom, pass_no):
    gaps = {"gap_top": top, "gap_bottom": bottom, "between": "12"}
    read = {f"{name}_mm": mm(inches) for name, inches in gaps.items()}
    read |= {f"{name}_typed": f"{inches} in" for name, inches in gaps.items()}
    return CamberReading(stage=_stage(pass_no), side=side, pass_no=pass_no, **read)


def tape(rear, pass_no):
    return ToeFactory.build(rear=rear, stage=_stage(pass_no), pass_no=pass_no)


def _stage(pass_no):
    return "found" if pass_no == 1 else "left"
