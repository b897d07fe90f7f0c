"""Centres of gravity and tipping, against simple geometry."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.stability import (
    angle_of_lift_deg,
    cg_from_axle_lift_mm,
    cg_from_lifts,
    combined_cg_mm,
    lateral_g,
    lifted_cg_mm,
    ssf,
    tip_angle_deg,
    tip_speed_kmh,
    tyre_rise_mm,
)

CART = {"hub_height_mm": 215.0, "wheelbase_mm": 1676.0, "mass_kg": 450.0}


def test_a_track_of_twice_the_height_tips_at_45_degrees():
    assert ssf(1000, 500) == 1
    assert tip_angle_deg(1000, 500) == pytest.approx(45)


def test_combined_cg_mm_is_weighted_by_mass():
    assert combined_cg_mm([(300, 400), (100, 800)]) == 500


def test_combined_cg_mm_takes_a_mass_off():
    assert combined_cg_mm([(400, 500), (-100, 800)]) == 400


@pytest.mark.parametrize("loads", [[], [(100, 500), (-100, 400)], [(-1, 500)]])
def test_combined_cg_mm_refuses_no_mass(loads):
    with pytest.raises(ValueError, match="total_kg must be above zero"):
        combined_cg_mm(loads)


def test_an_axle_raised_by_half_the_wheelbase_is_30_degrees():
    assert angle_of_lift_deg(800, 1600) == pytest.approx(30)


@pytest.mark.parametrize("raised_mm", [0, -5, 1600, 2000])
def test_angle_of_lift_deg_refuses_what_is_no_lift(raised_mm):
    with pytest.raises(ValueError, match="raised_mm must be"):
        angle_of_lift_deg(raised_mm, 1600)


def test_a_lift_that_shifts_nothing_has_its_centre_at_the_hubs():
    assert cg_from_axle_lift_mm(**CART, lift_angle_deg=12, gained_kg=0) == 215


@pytest.mark.parametrize("angle", [0, 90, -3, float("nan")])
def test_cg_from_axle_lift_mm_refuses_no_angle(angle):
    with pytest.raises(ValueError, match="lift_angle_deg must be between 0 and 90"):
        cg_from_axle_lift_mm(**CART, lift_angle_deg=angle, gained_kg=10)


@pytest.mark.parametrize("name", list(CART))
def test_a_lift_refuses_what_is_not_above_zero(name):
    wrong = {**CART, name: 0.0}

    with pytest.raises(ValueError, match=f"{name} must be above zero, not 0.0"):
        cg_from_axle_lift_mm(**wrong, lift_angle_deg=12, gained_kg=10)
    with pytest.raises(ValueError, match=f"{name} must be above zero, not 0.0"):
        cg_from_lifts([(300, 10)], **wrong)


def test_a_centre_below_the_road_is_refused():
    with pytest.raises(ValueError, match="must be above the road, not at -"):
        cg_from_axle_lift_mm(**CART, lift_angle_deg=12, gained_kg=-30)
    with pytest.raises(ValueError, match="must be above the road, not at -"):
        cg_from_lifts([(350, -30)], **CART)
    with pytest.raises(ValueError, match="must be above the road, not at 0 mm"):
        lifted_cg_mm(50, rise_mm=-50, sprung_share=1)


def test_cg_from_lifts_refuses_no_step():
    with pytest.raises(ValueError, match="steps must hold one at least"):
        cg_from_lifts([], **CART)


def test_lifted_cg_mm_raises_what_stands_on_the_springs():
    assert lifted_cg_mm(500, rise_mm=100) == pytest.approx(585)
    assert lifted_cg_mm(500, rise_mm=100, sprung_share=1) == pytest.approx(600)
    assert lifted_cg_mm(500, rise_mm=0, tyre_growth_mm=60) == pytest.approx(530)


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_lifted_cg_mm_refuses_what_is_no_share(share):
    with pytest.raises(ValueError, match="sprung_share must be from 0 to 1"):
        lifted_cg_mm(500, rise_mm=100, sprung_share=share)


@pytest.mark.parametrize(
    "refused",
    [
        lambda: ssf(0, 500),
        lambda: ssf(900, -1),
        lambda: ssf(float("inf"), 500),
        lambda: lateral_g(0, 15),
        lambda: lateral_g(20, 0),
        lambda: tip_speed_kmh(0, 15),
        lambda: tip_speed_kmh(0.8, 0),
        lambda: tyre_rise_mm(0, 500),
        lambda: lifted_cg_mm(0, rise_mm=10),
    ],
)
def test_what_is_not_above_zero_is_refused(refused):
    with pytest.raises(ValueError, match="must be above zero"):
        refused()


LENGTHS = st.floats(300, 2000)
HEIGHTS = st.floats(200, 1200)
MASSES = st.floats(20, 800)
LOADS = st.lists(st.tuples(MASSES, HEIGHTS), min_size=1, max_size=5)


@given(LENGTHS, HEIGHTS, st.floats(1, 300))
def test_higher_tips_sooner_and_wider_later(track, height, more):
    assert tip_angle_deg(track, height + more) < tip_angle_deg(track, height)
    assert tip_angle_deg(track + more, height) > tip_angle_deg(track, height)


@given(LOADS)
def test_a_common_centre_lies_among_its_parts_in_any_order(loads):
    heights = [height for _, height in loads]
    common = combined_cg_mm(loads)

    assert min(heights) - 1e-6 <= common <= max(heights) + 1e-6
    assert combined_cg_mm(loads[::-1]) == pytest.approx(common)


@given(LOADS, st.tuples(MASSES, HEIGHTS))
def test_a_load_put_on_and_taken_off_changes_nothing(loads, load):
    taken_off = (-load[0], load[1])

    assert combined_cg_mm([*loads, load, taken_off]) == pytest.approx(combined_cg_mm(loads))


@given(HEIGHTS.filter(lambda height: height > CART["hub_height_mm"]), st.floats(2, 40))
def test_weighing_a_rigid_cart_finds_its_height_again(height, angle_deg):
    """Moments about the axle that stays down, with the cart's own vectors turned."""
    gained = gain_of(height, angle_deg)

    found = cg_from_axle_lift_mm(**CART, lift_angle_deg=angle_deg, gained_kg=gained)
    assert found == pytest.approx(height, rel=1e-9)


def gain_of(height_mm, angle_deg):
    """Weigh a cart whose centre is midway between the axles, turned as a complex number."""
    turn = complex(0, 1) ** (angle_deg / 90)
    raised_axle = CART["wheelbase_mm"] * turn
    centre = complex(CART["wheelbase_mm"] / 2, height_mm - CART["hub_height_mm"]) * turn
    on_raised = CART["mass_kg"] * centre.real / raised_axle.real
    return CART["mass_kg"] / 2 - on_raised


@given(HEIGHTS, st.lists(st.floats(50, 900), min_size=1, max_size=6))
def test_several_exact_steps_agree_with_the_height(height, raised):
    steps = [(mm, gain_of(height, angle_of_lift_deg(mm, CART["wheelbase_mm"]))) for mm in raised]

    assert cg_from_lifts(steps, **CART) == pytest.approx(height, rel=1e-7)
    assert cg_from_lifts(steps[::-1], **CART) == pytest.approx(height, rel=1e-7)


@given(st.floats(50, 900), st.floats(0, 60))
def test_one_step_is_the_plain_formula(raised, gained):
    angle = angle_of_lift_deg(raised, CART["wheelbase_mm"])
    plain = cg_from_axle_lift_mm(**CART, lift_angle_deg=angle, gained_kg=gained)

    assert cg_from_lifts([(raised, gained)], **CART) == pytest.approx(plain)


def test_steps_up_and_down_average_their_scatter():
    # 2 kg of stiction either way, at the same heights, cancels
    up = [(mm, gain_of(600, angle_of_lift_deg(mm, CART["wheelbase_mm"])) + 2) for mm in (300, 500)]
    down = [(mm, gained - 4) for mm, gained in up]

    assert cg_from_lifts([*up, *down], **CART) == pytest.approx(600)


@given(HEIGHTS, st.floats(0, 300), st.floats(0, 1), st.floats(0, 200))
def test_a_lift_never_lowers_and_taking_it_back_restores(height, rise, share, growth):
    lifted = lifted_cg_mm(height, rise_mm=rise, sprung_share=share, tyre_growth_mm=growth)
    back = lifted_cg_mm(lifted, rise_mm=-rise, sprung_share=share, tyre_growth_mm=-growth)

    assert lifted >= height
    assert back == pytest.approx(height)


@given(st.floats(0.3, 2), st.floats(2, 100))
def test_at_the_tip_speed_the_sideways_g_is_the_factor(factor, radius):
    assert lateral_g(tip_speed_kmh(factor, radius), radius) == pytest.approx(factor)


@given(st.floats(300, 700), st.floats(300, 700))
def test_tyres_changed_back_lower_as_much(one, other):
    assert tyre_rise_mm(one, other) == -tyre_rise_mm(other, one)
