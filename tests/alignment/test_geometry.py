import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.geometry import (
    camber_deg,
    camber_with_floor,
    floor_deg,
    side_slip_ft_a_mile,
    toe_from_deg_mm,
    toe_limit_mm,
    toe_mm,
    toe_total_deg,
)

INCH_MM = 25.4
gaps_mm = st.floats(0, 200)
heights_mm = st.floats(100, 600)
angles_deg = st.floats(-10, 10)


def inches(*values):
    return [value * INCH_MM for value in values]


def test_camber_deg_is_minus_when_the_top_leans_in():
    assert camber_deg(*inches(5 / 16, 1 / 8, 11)) == pytest.approx(-0.98, abs=0.005)
    assert camber_deg(*inches(3 / 8, 1 / 16, 12)) == pytest.approx(-1.49, abs=0.005)


def test_camber_deg_of_an_upright_wheel_is_zero():
    assert camber_deg(4, 4, 300) == 0


@given(gaps_mm, gaps_mm, heights_mm)
def test_camber_deg_swaps_its_sign_with_the_gaps(top_mm, bottom_mm, between_mm):
    assert camber_deg(top_mm, bottom_mm, between_mm) == -camber_deg(bottom_mm, top_mm, between_mm)


@pytest.mark.parametrize(
    ("gaps", "named"),
    [
        ((-1, 0, 300), "gap_top_mm"),
        ((0, -1, 300), "gap_bottom_mm"),
        ((1, 1, 0), "between_mm"),
        ((1, float("nan"), 300), "gap_bottom_mm"),
        ((1, 1, float("inf")), "between_mm"),
    ],
)
def test_camber_deg_refuses_what_cannot_be_measured(gaps, named):
    with pytest.raises(ValueError, match=named):
        camber_deg(*gaps)


def test_floor_deg_is_the_slope_of_the_floor():
    assert floor_deg(*inches(3 / 16, 40)) == pytest.approx(0.27, abs=0.005)


def test_camber_with_floor_adds_the_slope_on_the_low_side():
    fall_mm, over_mm = inches(1 / 4, 36)

    left, right = camber_with_floor(-0.90, 0.10, fall_mm=fall_mm, over_mm=over_mm, low_side="left")

    assert (round(left, 2), round(right, 2)) == (-0.50, -0.30)


@given(angles_deg, angles_deg, st.floats(0, 50), st.floats(500, 2000))
def test_camber_with_floor_of_the_mirrored_cart_is_mirrored(left, right, fall_mm, over_mm):
    floor = {"fall_mm": fall_mm, "over_mm": over_mm}

    straight = camber_with_floor(left, right, **floor, low_side="left")
    mirrored = camber_with_floor(right, left, **floor, low_side="right")

    assert mirrored == straight[::-1]
    assert sum(straight) == pytest.approx(left + right, abs=1e-9)


def test_camber_with_floor_refuses_another_side():
    with pytest.raises(ValueError, match="low_side must be left or right, not 'front'"):
        camber_with_floor(0, 0, fall_mm=1, over_mm=1000, low_side="front")


def test_toe_mm_is_plus_for_toe_in():
    assert toe_mm(*inches(35 + 7 / 8, 36 + 1 / 16)) == pytest.approx(3 / 16 * INCH_MM)


@given(st.floats(500, 2000), st.floats(500, 2000))
def test_toe_mm_swaps_its_sign_with_the_ends(front_mm, rear_mm):
    assert toe_mm(front_mm, rear_mm) == -toe_mm(rear_mm, front_mm)


@pytest.mark.parametrize("ends", [(0, 900), (900, -1)])
def test_toe_mm_refuses_a_distance_that_is_not_above_zero(ends):
    with pytest.raises(ValueError, match="must be above 0"):
        toe_mm(*ends)


@pytest.mark.parametrize(
    ("toe_in", "diameter_in", "angle_deg"),
    [(7 / 32, 20.5, 0.61), (3 / 16, 22, 0.49), (-3 / 16, 22, -0.49)],
)
def test_toe_total_deg_is_the_angle_between_both_wheels(toe_in, diameter_in, angle_deg):
    angle = toe_total_deg(toe_in * INCH_MM, diameter_in * INCH_MM)

    assert angle == pytest.approx(angle_deg, abs=0.005)


@given(st.floats(0.5, 20), st.floats(300, 700), st.floats(1, 200))
def test_toe_total_deg_shrinks_on_a_bigger_tyre(toe, diameter_mm, more_mm):
    assert toe_total_deg(toe, diameter_mm + more_mm) < toe_total_deg(toe, diameter_mm)


@pytest.mark.parametrize(("toe", "diameter_mm"), [(3, 0), (1200, 500), (float("nan"), 500)])
def test_toe_total_deg_refuses_what_does_not_fit(toe, diameter_mm):
    with pytest.raises(ValueError):
        toe_total_deg(toe, diameter_mm)


@given(st.floats(-50, 50), st.floats(300, 700))
def test_toe_from_deg_mm_undoes_the_angle(toe, diameter_mm):
    angle = toe_total_deg(toe, diameter_mm)

    assert toe_from_deg_mm(angle, diameter_mm) == pytest.approx(toe, abs=1e-9)
    assert toe_from_deg_mm(-angle, diameter_mm) == -toe_from_deg_mm(angle, diameter_mm)


def test_toe_from_deg_mm_of_half_a_degree_on_22_inches():
    assert toe_from_deg_mm(0.49, 22 * INCH_MM) == pytest.approx(3 / 16 * INCH_MM, abs=0.03)


@pytest.mark.parametrize(("angle_deg", "diameter_mm"), [(1, 0), (181, 500), (float("nan"), 500)])
def test_toe_from_deg_mm_refuses_what_does_not_fit(angle_deg, diameter_mm):
    with pytest.raises(ValueError):
        toe_from_deg_mm(angle_deg, diameter_mm)


def test_side_slip_ft_a_mile_is_plus_for_toe_in():
    assert side_slip_ft_a_mile(*inches(1 / 8, 18)) == pytest.approx(36.67, abs=0.005)
    assert side_slip_ft_a_mile(*inches(-1 / 8, 18)) == pytest.approx(-36.67, abs=0.005)


@pytest.mark.parametrize(("toe", "diameter_mm"), [(float("nan"), 500), (float("inf"), 500), (3, 0)])
def test_side_slip_ft_a_mile_refuses_what_cannot_be_measured(toe, diameter_mm):
    with pytest.raises(ValueError, match="must be"):
        side_slip_ft_a_mile(toe, diameter_mm)


def test_toe_limit_mm_keeps_the_makers_sign():
    assert toe_limit_mm(2.0) == 3.0
    assert toe_limit_mm(-2.0) == -3.0
    assert toe_limit_mm(0) == 0


def test_toe_limit_mm_refuses_what_is_no_length():
    with pytest.raises(ValueError, match="makers_mm must be finite"):
        toe_limit_mm(float("inf"))
