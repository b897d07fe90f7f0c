"""Carts weighed for tests, through the action that the stability page calls."""

from decimal import Decimal

from lifts.actions.stability import add_stability, steps_of
from shared.units import read_quantity
from tests.factories import MORNING

# common practice, no source: 1,000 lb, its middle 21 in up, 400 lb of people at 37 in
TOLD = {"mass": "1000 lb", "track": "35 in", "cg": "21 in", "people": "400 lb", "seated": "37 in"}
LENGTHS = ("track", "cg", "wheelbase", "hub_height", "seated")


def measured(text, quantity="length"):
    return read_quantity(text, quantity, "in" if quantity == "length" else "lb")


def a_measure(cart, by, *, at=MORNING, steps=(), is_lifted=False, **typed):
    """Record a cart weighed as it stands on a page; ``steps`` are (raised, gained) as typed."""
    about = {"is_lifted": is_lifted, "note": typed.pop("note", "")}
    for name, text in {**TOLD, **typed}.items():
        is_length = name in LENGTHS
        value = measured(text, "length" if is_length else "mass") if text else None
        about |= {
            f"{name}_typed": text,
            f"{name}_{'mm' if is_length else 'kg'}": value and value.si,
        }
    pairs = [(measured(raised), measured(gained, "mass")) for raised, gained in steps]
    return add_stability(cart, steps_of(pairs), by=by, at=at, **about)


def inches(mm):
    return round(Decimal(mm) / Decimal("25.4"), 2)
