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


@pytest.mark.parametrize(("half_turn", "asks"), [(False, None), (True, Asks(5, INCH_MM / 64))])
def test_camber_read_after_half_a_turn_may_be_read_six_times(half_turn, asks):
    cambers = [
        square("left", 0.386 * BETWEEN_MM * 0.0174533),
        square("left", 0.386 * BETWEEN_MM * 0.0174533, half_turn=half_turn),
    ]

    # 0.114 degree to spare: U of three in 64ths is 0.130, of four 0.117, of five 0.108
    assert asked("camber left", mark_mm=INCH_MM / 64, cambers=cambers) == asks
