"""What the trade holds of camber and toe: common practice, no source for any of it.

Toe-in 1/8 to 1/4 in, camber zero, camber before toe. Check values, no advice for a cart.
"""

from alignment.judging import judge
from alignment.readings import SLEEVE, Camber, Limits, Sheet, Toe, Turn
from alignment.uncertainty import INSIDE, OUTSIDE
from shared.units import read_quantity

MARK_MM = 0.1  # so fine that only the figures decide
UPRIGHT = [Camber(side, gauge_deg=0.0) for side in ("left", "right")]


def inches_mm(text):
    return float(read_quantity(text, "length", "in").si)


def toe_of(text, pass_no=1):
    return Toe(900.0, 900.0 + inches_mm(text), pass_no)


def judged(toe, cambers=UPRIGHT, **sheet):
    return judge(Sheet(MARK_MM, MARK_MM, cambers, [toe] * 5, **sheet))


def test_toe_in_belongs_between_an_eighth_and_a_quarter_of_an_inch():
    limits = Limits()

    assert (limits.toe_low_mm, limits.toe_high_mm) == (inches_mm("1/8"), inches_mm("1/4"))
    assert judged(toe_of("3/16")).results["toe"].verdict == INSIDE
    assert judged(toe_of("1/16")).results["toe"].verdict == OUTSIDE
    assert judged(toe_of("5/16")).results["toe"].verdict == OUTSIDE


def test_camber_belongs_at_zero():
    limits = Limits()

    assert limits.camber_low_deg + limits.camber_high_deg == 0
    assert judged(toe_of("3/16")).verdict == INSIDE


def test_toe_read_before_the_camber_turn_does_not_count():
    turned = {"turns": [Turn(SLEEVE, "left", 2)]}
    again = [*UPRIGHT, Camber("left", 2, gauge_deg=0.0)]

    before = judged(toe_of("3/16"), again, **turned)
    after = judged(toe_of("3/16", 2), again, **turned)

    assert before.missing == ("toe",)
    assert (after.missing, after.verdict) == ((), INSIDE)
