"""Figures of the trade, read and converted: common practice, no source for any of them.

They check the parser and the conversion alone and are no advice for a cart.
"""

from decimal import Decimal

import pytest

from shared.units import read_quantity, shown


@pytest.mark.parametrize(
    ("joint", "typed", "n_m"),
    [
        ("lugs", "55 ft-lb", "74.5699871582"),
        ("hub nut", "50 lb-ft", "67.7908974166"),
        ("U-bolts", "25 ft lb", "33.8954487083"),
        ("steering rack", "22 lbf.ft", "29.8279948633"),
        ("spring end bolts", "18.5 ft·lbf", "25.0826320441"),
        ("spring end bolts", "18 1/2 lbf·ft", "25.0826320441"),
    ],
)
def test_a_usual_torque_reads_as_newton_metres(joint, typed, n_m):
    torque = read_quantity(typed, "torque", "N.m")

    assert torque.unit == "lbf.ft", joint
    assert round(torque.si, 10) == Decimal(n_m)


def test_a_usual_torque_prints_as_it_was_typed():
    assert shown(read_quantity("55 ft-lb", "torque", "N.m").si, "torque", "inch") == "55.0 lbf·ft"


@pytest.mark.parametrize(("typed", "mm"), [("1/8 in", "3.175"), ('¼"', "6.35")])
def test_the_usual_toe_in_reads_as_millimetres(typed, mm):
    assert read_quantity(typed, "length", "mm").si == Decimal(mm)
