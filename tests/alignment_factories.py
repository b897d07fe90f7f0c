"""Camber and toe sheets for tests: unsaved facts and lines, and what a mechanic types."""

from datetime import UTC, datetime
from decimal import Decimal
from types import SimpleNamespace

import factory

from alignment.conditions import TICKS
from alignment.models import CamberReading, CamberToeSheet, ToeReading, Turn
from fleet.kinds import Cut
from shared.units import read_quantity
from tests.factories import CartFactory

NOON = datetime(2026, 4, 6, 16, 0, tzinfo=UTC)


def mm(inches: str) -> Decimal:
    return round(read_quantity(inches, "length", "in").si, 6)


class SheetFactory(factory.Factory):
    class Meta:
        model = CamberToeSheet

    done_at = NOON
    written_at = NOON
    diameter_mm = mm("22")
    diameter_typed = "22 in"
    mark_mm = mm("1/32")
    mark_typed = "1/32 in"
    gauge_mark_deg = Decimal("0.1")
    camber_low_deg = Decimal("-0.5")
    camber_high_deg = Decimal("0.5")
    side_to_side_deg = Decimal("0.5")
    toe_low_mm = Decimal("3.175")
    toe_high_mm = Decimal("6.35")


class PassesFactory(SheetFactory):
    """A sheet in passes, with all that ought to hold before measuring."""

    passes = 1
    floor_level = True
    pressures_equal = tyres_alike = rolled_forward = steering_centred = True
    usual_load = no_play = lugs_first = True


class TurnFactory(factory.Factory):
    class Meta:
        model = Turn

    pass_no = 2
    what = "sleeve"
    at = "left"
    longer_flats = Decimal(3)


class GaugeFactory(factory.Factory):
    class Meta:
        model = CamberReading

    stage = "found"
    side = "left"
    gauge_deg = Decimal(0)
    gauge_typed = "0"


class ToeFactory(factory.Factory):
    class Meta:
        model = ToeReading

    class Params:
        front = "35 7/8"
        rear = "36 1/16"

    stage = "found"
    front_mm = factory.LazyAttribute(lambda toe: mm(toe.front))
    front_typed = factory.LazyAttribute(lambda toe: f"{toe.front} in")
    rear_mm = factory.LazyAttribute(lambda toe: mm(toe.rear))
    rear_typed = factory.LazyAttribute(lambda toe: f"{toe.rear} in")


def placed(*lines):
    """Return the lines, each with its place in the list."""
    for place, line in enumerate(lines):
        line.place = place
    return list(lines)


def a_visit(*, units="inch", tyre_mm=None, pieces=("camber-toe",), cart=None):
    """Return a visit at a cart whose row is there; at one of its own without ``cart``."""
    cart = cart or CartFactory(tyre_mm=tyre_mm, site__units=units)
    return SimpleNamespace(
        cart=cart,
        site=cart.site,
        kit=None,
        pieces=frozenset(pieces),
        stage="",
        viewer=None,
        at=NOON,
        cut=Cut(NOON, NOON),
        known_by=NOON,
        opening=Cut(NOON, NOON),
        corrects=None,
    )


READY = {
    "ready": list(TICKS),
    "pressure_set": "20",
    "pressure_left": "20",
    "pressure_right": "20",
    "floor": "level",
}
FOUND_INSIDE = {
    **READY,
    "mark": "1/32 in",
    "diameter": "22",
    "between": "12",
    "passes": "1",
    "p1_step": "found",
    "p1_left_top_1": "1/8",
    "p1_left_bottom_1": "1/8",
    "p1_right_top_1": "1/8",
    "p1_right_bottom_1": "1/8",
    "p1_front_1": "35 7/8",
    "p1_rear_1": "36 1/16",
    "p1_front_2": "35 7/8",
    "p1_rear_2": "36 3/32",
    "p1_front_3": "35 7/8",
    "p1_rear_3": "36 1/32",
}


def typed(**fields):
    """Return what a mechanic posts for a cart that is found inside; ``None`` leaves a field out."""
    everything = {**FOUND_INSIDE, **fields}
    return {f"camber-toe-{name}": text for name, text in everything.items() if text is not None}


# the left sleeve turned, that wheel read again and then toe, both inside
SLEEVE_TURNED = {
    "passes": "2",
    "p2_step": "sleeve",
    "p2_left_turn": "2",
    "p2_left_way": "longer",
    "p2_left_top_1": "1/8",
    "p2_left_bottom_1": "1/8",
    "p2_front_1": "35 7/8",
    "p2_rear_1": "36 1/16",
    "p2_front_2": "35 7/8",
    "p2_rear_2": "36 3/32",
    "p2_front_3": "35 7/8",
    "p2_rear_3": "36 1/32",
    "jam_nuts": "tight",
}
