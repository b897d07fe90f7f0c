from math import radians, sin

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from alignment.advice import (
    Rod,
    Sleeve,
    Steering,
    advise,
    camber_deg_a_flat,
    centring,
    clockwise,
    one_rod_mm_a_flat,
    steered_deg,
    toe_mm_a_flat,
    toe_moved_mm,
    way,
)
from tests import rigid_wheel

INCH_MM = 25.4
BAND = {"target": 25.4 * 3 / 16, "low": 25.4 / 8, "high": 25.4 / 4}
AHEAD = Rod(1.25, False, 4.5 * INCH_MM, is_ahead=True)
BEHIND = Rod(1.25, False, 4.5 * INCH_MM, is_ahead=False)
ACROSS = Rod(1.25, False, 4.5 * INCH_MM, is_ahead=False, is_across=True)

rods = st.builds(
    Rod, st.floats(0.8, 2.5), st.booleans(), st.floats(60, 200), st.booleans(), st.booleans()
)
diameters_mm = st.floats(400, 650)


@pytest.mark.parametrize(
    ("off", "flats"), [(2.5, 2), (3.5, 3), (-2.5, -2), (0.5, 0), (2.51, 3), (0.35 * 10, 3)]
)
def test_of_two_flats_as_near_the_fewer_are_told(off, flats):
    told = advise(-off, target=0.0, low=-1.0, high=1.0, a_flat=1.0)

    assert (told.flats, told.step_flats) == (flats, 1.0)


def test_advise_says_four_flats_longer_where_the_arm_is_ahead():
    advice = advise(INCH_MM / 2, **BAND, a_flat=toe_mm_a_flat(AHEAD, 22 * INCH_MM))

    assert advice.exact_flats == pytest.approx(3.9, abs=0.005)
    assert (advice.flats, advice.step_flats, advice.way) == (4, 1, "longer")
    assert advice.predicted / INCH_MM == pytest.approx(0.179, abs=0.0005)
    assert advice.lands_inside


def test_advise_says_as_many_shorter_where_the_arm_is_behind():
    longer = advise(INCH_MM / 2, **BAND, a_flat=toe_mm_a_flat(AHEAD, 22 * INCH_MM))
    shorter = advise(INCH_MM / 2, **BAND, a_flat=toe_mm_a_flat(BEHIND, 22 * INCH_MM))

    assert (shorter.exact_flats, shorter.way) == (-longer.exact_flats, "shorter")
    assert shorter.predicted == longer.predicted


def test_a_rod_across_takes_twice_the_flats_of_each_of_two():
    each, one = (toe_mm_a_flat(rod, 22 * INCH_MM) for rod in (BEHIND, ACROSS))

    assert one == each / 2 == one_rod_mm_a_flat(BEHIND, 22 * INCH_MM)


def test_a_double_thread_does_twice_as_much_a_flat():
    double = Rod(1.25, True, 4.5 * INCH_MM, is_ahead=False)

    assert toe_mm_a_flat(double, 500) == 2 * toe_mm_a_flat(BEHIND, 500)
    assert camber_deg_a_flat(Sleeve(1, True, 140)) == camber_deg_a_flat(Sleeve(2, False, 140))


@given(rods, diameters_mm)
def test_a_flat_of_one_rod_does_what_the_rigid_wheel_does(rod, diameter_mm):
    arm = {"arm_mm": rod.arm_mm, "is_ahead": rod.is_ahead}
    toe_deg = rigid_wheel.toe_deg(**arm, longer_mm=rod.mm_a_flat)

    assert one_rod_mm_a_flat(rod, diameter_mm) == pytest.approx(
        diameter_mm * sin(radians(toe_deg)), rel=0.01
    )


@given(st.floats(1, 2), st.booleans(), st.floats(100, 200))
def test_a_flat_of_a_sleeve_does_what_the_rigid_wheel_does(pitch_mm, is_double, knuckle_mm):
    sleeve = Sleeve(pitch_mm, is_double, knuckle_mm)
    leans_deg = rigid_wheel.camber_deg(knuckle_mm=knuckle_mm, longer_mm=sleeve.mm_a_flat)

    assert camber_deg_a_flat(sleeve) == pytest.approx(leans_deg, rel=0.01)


@given(st.floats(60, 200), st.booleans(), st.floats(-80, 80), st.floats(-0.02, 0.02), diameters_mm)
def test_toe_moved_mm_is_the_rigid_wheels_to_first_order(
    arm_mm, is_ahead, height_mm, out_deg, diameter_mm
):
    steering = Steering(Rod(1.25, False, arm_mm, is_ahead), rod_height_mm=height_mm)
    arm = {"arm_mm": arm_mm, "is_ahead": is_ahead, "height_mm": height_mm}
    toe_deg = rigid_wheel.toe_deg(**arm, out_deg=out_deg)

    moved_mm = toe_moved_mm(out_deg, steering, diameter_mm)

    assert moved_mm == pytest.approx(diameter_mm * sin(radians(toe_deg)), rel=0.01, abs=1e-3)


def test_toe_moved_mm_by_a_degree_and_a_half_is_close_to_the_rigid_wheels():
    steering = Steering(Rod(1.25, False, 4 * INCH_MM, is_ahead=True), rod_height_mm=45)
    toe_deg = rigid_wheel.toe_deg(arm_mm=4 * INCH_MM, is_ahead=True, height_mm=45, out_deg=1.5)

    moved_mm = toe_moved_mm(1.5, steering, 520)

    assert moved_mm == pytest.approx(520 * sin(radians(toe_deg)), rel=0.03)
    assert moved_mm > 0


@pytest.mark.parametrize(
    "steering",
    [Steering(), Steering(rod=AHEAD), Steering(sleeve=Sleeve(1, True, 140), rod_height_mm=40)],
)
def test_toe_moved_mm_is_none_where_the_rod_or_its_height_is_not_known(steering):
    assert toe_moved_mm(1.0, steering, 520) is None


def test_advise_halves_the_flats_where_a_whole_one_leaves_the_band():
    advice = advise(2.0, target=0.0, low=-0.3, high=0.3, a_flat=-0.8)

    assert (advice.exact_flats, advice.flats, advice.step_flats) == (2.5, 2.5, 0.5)
    assert (advice.predicted, advice.lands_inside) == (0.0, True)


def test_advise_says_so_where_no_half_flat_lands_inside_either():
    advice = advise(0.95, target=0.0, low=-0.1, high=0.1, a_flat=0.8)

    assert (advice.step_flats, advice.flats, advice.lands_inside) == (0.5, -1, False)
    assert advice.predicted == pytest.approx(0.15)


values, gains = st.floats(-20, 20), st.floats(0.05, 3) | st.floats(-3, -0.05)
bands = st.tuples(st.floats(-5, 5), st.floats(0.05, 5))


@given(values, gains, bands)
def test_advise_in_exact_flats_lands_on_the_target(value, a_flat, band):
    middle, half = band
    advice = advise(value, target=middle, low=middle - half, high=middle + half, a_flat=a_flat)

    assert value + advice.exact_flats * a_flat == pytest.approx(middle, abs=1e-9)


@given(values, gains, bands)
def test_advise_lands_within_half_a_step_of_the_target(value, a_flat, band):
    middle, half = band
    advice = advise(value, target=middle, low=middle - half, high=middle + half, a_flat=a_flat)

    assert abs(advice.predicted - middle) <= abs(a_flat) * advice.step_flats / 2 + 1e-9
    assert advice.predicted == value + advice.flats * a_flat
    assert advice.lands_inside == (middle - half <= advice.predicted <= middle + half)
    assert advice.step_flats == 1 or abs(a_flat) / 2 > half - 1e-9


@given(gains, bands, st.floats(-0.49, 0.49))
def test_advise_turns_nothing_that_is_inside_and_within_half_a_flat(a_flat, band, off_flats):
    middle, half = band
    value = middle + off_flats * a_flat
    assume(abs(value - middle) <= half)

    advice = advise(value, target=middle, low=middle - half, high=middle + half, a_flat=a_flat)

    assert (advice.flats, advice.way) == (0, "")


@given(rods, st.sampled_from(["left", "right"]))
def test_centring_steers_both_wheels_by_a_degree_to_where_the_wheel_stood(rod, side):
    assume(not rod.is_across)
    said = centring(rod, side)
    flats = {said.longer: said.flats_a_deg, said.shorter: -said.flats_a_deg}

    to_left_deg = steered_deg(flats["left"], flats["right"], rod)

    assert to_left_deg == pytest.approx(1 if side == "left" else -1)


@pytest.mark.parametrize("is_ahead", [True, False])
def test_steered_deg_is_what_the_rigid_wheel_steers(is_ahead):
    rod = Rod(1.25, False, 100, is_ahead)
    # mirrored, a right wheel's toe-in is to the left
    left = -rigid_wheel.toe_deg(arm_mm=100, is_ahead=is_ahead, longer_mm=3 * rod.mm_a_flat)
    right = rigid_wheel.toe_deg(arm_mm=100, is_ahead=is_ahead, longer_mm=-3 * rod.mm_a_flat)

    assert steered_deg(3, -3, rod) == pytest.approx(left, rel=0.01)
    assert steered_deg(3, -3, rod) == pytest.approx(right, rel=0.01)


def test_steered_deg_is_nothing_where_both_sides_are_turned_alike():
    assert steered_deg(4, 4, AHEAD) == 0


def test_steered_deg_by_one_side_alone_is_half_of_what_that_wheel_turned():
    wheel_deg = -rigid_wheel.toe_deg(
        arm_mm=AHEAD.arm_mm, is_ahead=True, longer_mm=4 * AHEAD.mm_a_flat
    )

    assert steered_deg(4, 0, AHEAD) == pytest.approx(wheel_deg / 2, rel=0.01)


def test_centring_by_a_rod_across_is_for_the_drag_link():
    said = centring(ACROSS, "left")

    assert (said.by_drag_link, said.longer, said.flats_a_deg) == (True, "", None)


def screwed_off(flats, right_hand):
    """Return how a part turns to get longer by its right-hand thread alone, seen from the wheel.

    Along x from who looks at the wheel towards the cart's middle, y right, z up: a body with a
    right-hand thread moves along the axis that it turns about, so clockwise, about +x, takes it
    away from who looks.
    """
    away_at_wheel = right_hand == "wheel"
    moves_away = (flats > 0) == away_at_wheel
    return 1 if moves_away else -1


@pytest.mark.parametrize("right_hand", ["wheel", "middle"])
@pytest.mark.parametrize("flats", [2.5, -2.5])
def test_clockwise_follows_from_the_end_with_the_right_hand_thread(flats, right_hand):
    assert clockwise(flats, right_hand) == screwed_off(flats, right_hand)


def test_no_way_to_turn_where_nothing_is_turned_or_no_end_is_told():
    assert [way(flats) for flats in (1, -1, 0)] == ["longer", "shorter", ""]
    assert (clockwise(0, "wheel"), clockwise(3, "")) == (0, 0)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: Rod(0, False, 100, True), "pitch_mm"),
        (lambda: Rod(1, False, float("nan"), True), "arm_mm"),
        (lambda: Sleeve(1, True, 0), "knuckle_mm"),
        (lambda: Sleeve(-1, True, 100), "pitch_mm"),
        (lambda: toe_mm_a_flat(AHEAD, 0), "diameter_mm"),
        (lambda: toe_moved_mm(1, Steering(), 0), "diameter_mm"),
        (lambda: advise(1, **BAND, a_flat=0), "a_flat"),
        (lambda: advise(1, target=2, low=0, high=1, a_flat=1), "target"),
        (lambda: centring(AHEAD, "up"), "stands_to"),
    ],
)
def test_advice_refuses_what_cannot_be(call, named):
    with pytest.raises(ValueError, match=named):
        call()
