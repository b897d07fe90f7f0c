from math import radians, tan

import pytest

from alignment.asking import asks_for
from alignment.judging import judge
from alignment.readings import Camber, Sheet, Toe
from alignment.settling import Asks

INCH_MM = 25.4
BETWEEN_MM = 12 * INCH_MM


def square(side, deg_mm, **given):
    return Camber(side, 1, 10.0, 10.0 + deg_mm, BETWEEN_MM, **given)


def asked(name, **sheet):
    each = Sheet(**sheet)
    return asks_for(each, judge(each), name)


def test_camber_near_a_limit_in_16ths_asks_for_two_in_32nds():
    # 1/16 in over 12 in is 0.298 degree
    cambers = [square("left", INCH_MM / 16)]

    asks = asked("camber left", mark_mm=INCH_MM / 16, cambers=cambers)

    assert asks == Asks(2, INCH_MM / 32)


def test_toe_by_one_pass_in_16ths_asks_for_readings_by_a_finer_tape():
    toes = [Toe(35.875 * INCH_MM, 36.0625 * INCH_MM)]

    asks = asked("toe", mark_mm=INCH_MM / 16, toes=toes)

    # U of two in 16ths is 0.059 in, of one in 32nds 0.047 and of two 0.038, by 1/16 in to spare
    assert asks == Asks(2, INCH_MM / 16)


def test_toe_at_a_limit_is_settled_by_nothing_here():
    toes = [Toe(900, 900 + INCH_MM / 4)]

    assert asked("toe", mark_mm=1.0, toes=toes) is None


def test_a_gauge_is_asked_for_its_own_marks():
    cambers = [Camber("left", gauge_deg=0.1), Camber("right", gauge_deg=0.3)]
    sheet = {"mark_mm": 1.0, "gauge_mark_deg": 0.5, "cambers": cambers}

    assert asked("camber right", **sheet) == Asks(2, 0.2)


def test_a_tape_in_mm_is_asked_for_half_mm():
    toes = [Toe(900, 905.45)]

    # 0.90 mm to spare: U of five in mm is 0.93, of two in half mm 0.83
    assert asked("toe", mark_mm=1.0, toes=toes) == Asks(2, 0.5)


def test_side_to_side_asks_for_readings_of_both_wheels():
    cambers = [square("left", INCH_MM / 32), square("right", -INCH_MM / 32)]

    asks = asked("side to side", mark_mm=INCH_MM / 32, cambers=cambers)

    # 0.298 apart against 0.5: U of both is sqrt(2) times that of one
    assert asks == Asks(3, INCH_MM / 64)


def bent_rim(half_turn):
    """Return 0.386 degree as read before and after half a turn, 0.3 off either way."""
    return [
        square("left", BETWEEN_MM * tan(radians(0.386 + 0.3))),
        square("left", BETWEEN_MM * tan(radians(0.386 - 0.3)), half_turn=half_turn),
    ]


@pytest.mark.parametrize(("half_turn", "asks"), [(False, None), (True, Asks(5, INCH_MM / 64))])
def test_a_bent_rim_read_after_half_a_turn_is_no_scatter(half_turn, asks):
    # 0.114 degree to spare: U of three in 64ths is 0.130, of four 0.117, of five 0.108
    found = asked("camber left", mark_mm=INCH_MM / 64, cambers=bent_rim(half_turn))

    assert found == asks


def test_readings_of_toe_that_scatter_are_asked_for_oftener():
    toes = [Toe(900, 900 + 25.4 * inches) for inches in (0.15, 0.21)]

    # U of two is 0.06 in by their own scatter, 0.034 by the default; 0.055 to spare
    assert asked("toe", mark_mm=INCH_MM / 64, toes=toes) == Asks(3, INCH_MM / 64)


def test_a_square_beside_a_gauge_is_asked_for_marks_of_its_own():
    inch_16th = INCH_MM / 16
    mixed = {"mark_mm": inch_16th, "gauge_mark_deg": 0.5}
    mixed["cambers"] = [square("left", inch_16th), Camber("right", gauge_deg=0.1)]

    assert asked("camber left", **mixed) == Asks(2, INCH_MM / 32)
    assert asked("camber right", **mixed).mark in (0.5, 0.2)


def test_side_to_side_of_square_and_gauge_asks_for_the_gauge_alone():
    coarse = {"gauge_mark_deg": 1.0, "cambers": [square("left", 0.0), Camber("right", gauge_deg=0)]}

    asks = asked("side to side", mark_mm=INCH_MM / 64, **coarse)
    never = asked("side to side", mark_mm=INCH_MM / 8, **coarse)

    assert (asks.mark, never) == (0.5, None)
