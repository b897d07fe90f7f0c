"""Static stability against NHTSA's factor and worked examples of the axle lift.

The factor T / 2h: NHTSA, "Why Choose SSF?". The axle lift: ISO 10392 and SAE J874 by
secondary pages. Angles and speeds are exact arithmetic on those rules.
"""

import pytest

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

IN, LB, FT_M, MPH_KMH = 25.4, 0.45359237, 0.3048, 1.609344  # NIST SP 811 (2008) App. B


@pytest.mark.parametrize(
    ("track_in", "cg_in", "factor", "angle_deg"),
    [
        (36, 20, 0.900, 41.9872),
        (36, 24, 0.750, 36.8699),  # a triangle of 3, 4 and 5
        (38, 21, 0.904762, 42.1376),
    ],
)
def test_the_factor_and_the_angle_of_a_rigid_cart(track_in, cg_in, factor, angle_deg):
    assert ssf(track_in * IN, cg_in * IN) == pytest.approx(factor, abs=1e-6)
    assert tip_angle_deg(track_in * IN, cg_in * IN) == pytest.approx(angle_deg, abs=1e-4)


def test_an_axle_raised_20_inches_on_a_wheelbase_of_65():
    """Worked from h = r + L dW / (W tan a), sin a = H / L."""
    angle_deg = angle_of_lift_deg(20 * IN, 65 * IN)
    cart = {"hub_height_mm": 9 * IN, "wheelbase_mm": 65 * IN, "mass_kg": 1000 * LB}
    gained_kg = 59.70108 * LB

    found_mm = cg_from_axle_lift_mm(**cart, lift_angle_deg=angle_deg, gained_kg=gained_kg)
    fitted_mm = cg_from_lifts([(20 * IN, gained_kg)], **cart)

    assert angle_deg == pytest.approx(17.9202, abs=1e-4)
    assert found_mm / IN - 9 == pytest.approx(12.000, abs=1e-5)
    assert fitted_mm == pytest.approx(found_mm)


def test_a_slope_through_three_lift_steps_is_the_same_height():
    """ISO 10392 asks for three steps or more; weights by L = 65, W = 1000, h - r = 12."""
    raised_gained = [
        (mm, 1000 * 12 / 65 * tangent)
        for mm, tangent in ((13, 0.2041241452), (20, 0.3233808334), (39, 0.75))
    ]
    steps = [(raised * IN, gained * LB) for raised, gained in raised_gained]

    found_mm = cg_from_lifts(steps, hub_height_mm=8.5 * IN, wheelbase_mm=65 * IN, mass_kg=1000 * LB)

    assert found_mm / IN == pytest.approx(20.5, abs=1e-6)


def test_an_axle_lift_of_12_degrees():
    """Common practice, no source: r 8.5, wheelbase 66, 1,000 lb, 30 lb gained."""
    found_mm = cg_from_axle_lift_mm(
        hub_height_mm=8.5 * IN,
        wheelbase_mm=66 * IN,
        mass_kg=1000 * LB,
        lift_angle_deg=12,
        gained_kg=30 * LB,
    )

    assert round(found_mm / IN, 1) == 17.8


@pytest.mark.parametrize(("mph", "g"), [(15, 0.30086), (20, 0.53487)])
def test_sideways_g_on_a_radius_of_50_feet(mph, g):
    """The radius of the tests in NHTSA VRTC-83-0461 (abstract); v**2 / R."""
    assert lateral_g(mph * MPH_KMH, 50 * FT_M) == pytest.approx(g, rel=1e-4, abs=0)


@pytest.mark.parametrize(("factor", "mph"), [(0.9, 25.94), (0.75, 23.68)])
def test_the_speed_at_which_sideways_g_reaches_the_factor(factor, mph):
    assert round(tip_speed_kmh(factor, 50 * FT_M) / MPH_KMH, 2) == mph


def test_riders_raise_the_centre_of_gravity():
    """1,000 lb at 15 in and 350 lb at 38 in, on a track of 36 in; worked by hand."""
    common_mm = combined_cg_mm([(1000 * LB, 15 * IN), (350 * LB, 38 * IN)])

    assert round(common_mm / IN, 3) == 20.963
    assert round(ssf(36 * IN, common_mm), 4) == 0.8587


# common practice, no source: the trade's own worked cart, in pounds and inches
EMPTY, PEOPLE = (1000 * LB, 21 * IN), (400 * LB, 37 * IN)


def test_a_cart_with_two_people():
    common_mm = combined_cg_mm([EMPTY, PEOPLE])

    assert round(common_mm / IN, 1) == 25.6
    assert round(ssf(35 * IN, common_mm), 3) == 0.684
    assert round(tip_angle_deg(35 * IN, common_mm), 1) == 34.4


@pytest.mark.parametrize(
    ("track_in", "factor", "angle_deg"), [(38, 0.644, 32.8), (35, 0.593, 30.7)]
)
def test_the_same_cart_lifted_three_inches_on_larger_tyres(track_in, factor, angle_deg):
    growth_mm = 2 * tyre_rise_mm(18 * IN, 20.5 * IN)
    cart_mm = lifted_cg_mm(EMPTY[1], rise_mm=3 * IN, tyre_growth_mm=growth_mm)
    people_mm = lifted_cg_mm(PEOPLE[1], rise_mm=3 * IN, sprung_share=1, tyre_growth_mm=growth_mm)

    common_mm = combined_cg_mm([(EMPTY[0], cart_mm), (PEOPLE[0], people_mm)])

    assert round(common_mm / IN, 1) == 29.5
    assert round(ssf(track_in * IN, common_mm), 3) == factor
    assert round(tip_angle_deg(track_in * IN, common_mm), 1) == angle_deg


def test_a_lighter_battery_raises_the_centre_of_gravity():
    """Common practice, no source: 250 lb less at 15 in, 25.6 to 27.9 in."""
    common_mm = combined_cg_mm([EMPTY, PEOPLE, (-250 * LB, 15 * IN)])

    assert round(common_mm / IN, 1) == 27.9
