"""A steering wheel that stands off is centred by unlike flats, and toe stays."""

from dataclasses import replace
from math import degrees

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.advice import Rod, formula_change, one_rod_mm_a_flat, steered_deg
from alignment.advice import Steering as SteeringOf
from alignment.contradictions import contradictions
from alignment.judging import judge
from alignment.learning import Learnt, rods_seen
from alignment.next_step import CENTRE_WHEEL, CENTRES_WHEEL, DONE, DRIVE, TURN_ROD, next_step
from alignment.readings import ROD, SIDES, Camber, Sheet, Toe, Turn
from alignment.steering_wheel import Stands, to_centre

INCH_MM = 25.4
TYRE_MM = 22 * INCH_MM
AHEAD = Rod(pitch_mm=1.25, is_double=False, arm_mm=4.5 * INCH_MM, is_ahead=True)
BEHIND = replace(AHEAD, is_ahead=False)
ACROSS = replace(AHEAD, is_across=True)


def a_sheet(*turns, toe_mm=INCH_MM * 3 / 16, pass_no=1):
    cambers = [Camber(side, gauge_deg=0.0) for side in SIDES] * 3
    toes = [Toe(900.0, 900.0 + toe_mm, pass_no)] * 3
    return Sheet(INCH_MM / 32, cambers=cambers, toes=toes, turns=turns, diameter_mm=TYRE_MM)


def turned(left, right, pass_no=2):
    return [Turn(ROD, side, pass_no, flats) for side, flats in (("left", left), ("right", right))]


def told(sheet, rod=AHEAD, stands=None):
    known = {"steering": SteeringOf(rod=rod), "camber_adjusts": "sleeve", "learnt": Learnt()}
    return next_step(sheet, judge(sheet), stands=stands, **known)


# a flat of 1.25 / 6 mm on an arm of 114.3 mm steers by 0.1044 degree: 9.6 flats a degree
@pytest.mark.parametrize(
    ("rod", "to", "left"), [(AHEAD, "left", 5), (AHEAD, "right", -5), (BEHIND, "left", -5)]
)
def test_half_a_degree_takes_five_flats_each_way(rod, to, left):
    centre = to_centre(Stands(to, 0.5), rod, a_sheet())

    assert degrees(AHEAD.mm_a_flat / AHEAD.arm_mm) == pytest.approx(0.1044, abs=5e-5)
    assert centre.how.flats_a_deg == pytest.approx(9.58, abs=0.005)
    assert centre.of_sides == {"left": left, "right": -left}


def test_what_was_turned_unlike_is_taken_off_and_too_far_goes_back():
    def left_then(*turns):
        centre = to_centre(Stands("left", 0.5), AHEAD, a_sheet(*turns))
        return centre and centre.of_sides["left"]

    assert left_then(*turned(2, -2)) == 3
    assert left_then(*turned(5, -5)) is None
    # two flats of toe with it
    assert left_then(*turned(7, -3)) is None
    assert left_then(*turned(8, -8)) == -3
    assert left_then(*turned(None, -2)) is None


def test_nothing_is_to_be_centred_at_the_rods():
    assert to_centre(None, AHEAD, a_sheet()) is None
    assert to_centre(Stands("left", 0.5), ACROSS, a_sheet()) is None
    assert to_centre(Stands("left", 0.5), None, a_sheet()) is None
    assert to_centre(Stands("left", 0.0), AHEAD, a_sheet()) is None


def test_how_far_is_not_known_until_something_was_turned_unlike():
    by_look = Stands("right")

    assert to_centre(by_look, AHEAD, a_sheet(*turned(3, 3))).of_sides == {}
    assert to_centre(by_look, AHEAD, a_sheet(*turned(3, 1))) is None


@given(
    st.floats(0.0, 5.0),
    st.sampled_from(SIDES),
    st.sampled_from([AHEAD, BEHIND]),
)
def test_the_flats_steer_the_wheels_straight_within_half_a_flat(off_deg, to, rod):
    centre = to_centre(Stands(to, off_deg), rod, a_sheet())

    sides = centre.of_sides if centre else dict.fromkeys(SIDES, 0)
    # standing to the left it points the wheels to the right once centred
    to_left_deg = off_deg if to == "left" else -off_deg
    half_deg = degrees(rod.mm_a_flat / rod.arm_mm) / 2
    assert steered_deg(sides["left"], sides["right"], rod) == pytest.approx(
        to_left_deg, abs=half_deg + 1e-9
    )


def test_rods_turned_for_toe_centre_the_wheel_in_the_same_pass():
    step = told(a_sheet(toe_mm=INCH_MM / 2), stands=Stands("left", 0.2))

    assert (step.kind, step.steering_wheel) == (TURN_ROD, CENTRES_WHEEL)
    # 3.9 flats longer each for toe, two apart
    assert step.flats == {"left": 6, "right": 2}


def test_a_wheel_that_stands_off_is_centred_where_toe_is_inside():
    step = told(a_sheet(), stands=Stands("right", 0.2))

    assert (step.kind, step.flats) == (CENTRE_WHEEL, {"left": -2, "right": 2})
    assert told(a_sheet()).kind == DONE
    assert told(a_sheet(*turned(-2, 2), pass_no=2), stands=Stands("right", 0.2)).kind == DRIVE


def test_unlike_flats_are_learned_from_by_their_sum():
    each_mm = one_rod_mm_a_flat(AHEAD, TYRE_MM)
    before, after = (Toe(900.0, 900.0 + mm) for mm in (12.7, 12.7 + 8 * each_mm))
    toes = [*[before] * 3, *[replace(after, pass_no=2)] * 3]
    sheet = replace(a_sheet(*turned(6, 2)), toes=toes)

    (seen,) = rods_seen(sheet, lambda turn: formula_change(turn, SteeringOf(AHEAD), TYRE_MM))

    assert seen.share == pytest.approx(1.0)
    assert contradictions(sheet, gains={ROD: each_mm}) == ()


def test_flats_that_only_centre_teach_nothing_of_toe():
    toes = [Toe(900.0, 905.0, no) for no in (1, 1, 1, 2, 2, 2)]
    sheet = replace(a_sheet(*turned(3, -3)), toes=toes)

    (seen,) = rods_seen(sheet, lambda turn: formula_change(turn, SteeringOf(AHEAD), TYRE_MM))

    assert (seen.formula_change, seen.is_clear) == (0, False)
    assert contradictions(sheet, gains={ROD: one_rod_mm_a_flat(AHEAD, TYRE_MM)}) == ()
