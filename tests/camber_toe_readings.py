"""Readings of camber and toe, and what is told of them to do next."""

from alignment.judging import judge
from alignment.learning import Learnt
from alignment.next_step import next_step
from alignment.readings import ROD, SIDES, Camber, Sheet, Toe, Turn
from tests.simulated_cart import INCH_MM, STEERING

MARK_MM = INCH_MM / 32


def gauges(left_deg, right_deg, pass_no=1, count=3):
    each = {"left": left_deg, "right": right_deg}
    return [Camber(side, pass_no, gauge_deg=deg) for side, deg in each.items()] * count


def toes(inches, pass_no=1, count=3):
    return [Toe(900.0, 900.0 + inches * INCH_MM, pass_no)] * count


def a_sheet(cambers=(), toes=(), **given):
    return Sheet(MARK_MM, cambers=cambers, toes=toes, diameter_mm=22 * INCH_MM, **given)


def told(sheet, **given):
    known = {"steering": STEERING, "camber_adjusts": "sleeve", "learnt": Learnt()}
    return next_step(sheet, judge(sheet), **{**known, **given})


UPRIGHT = gauges(0.0, 0.0)
MIDDLE = toes(3 / 16)
RODS = [Turn(ROD, side, 2, 4.0) for side in SIDES]
