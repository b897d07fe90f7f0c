"""Camber and toe against published definitions and figures; the source stands at each check."""

from math import atan, degrees

import pytest

from alignment.geometry import (
    camber_deg,
    side_slip_ft_a_mile,
    toe_from_deg_mm,
    toe_limit_mm,
    toe_mm,
    toe_total_deg,
)

INCH_MM = 25.4


def test_camber_and_toe_have_the_signs_of_sae_j670_and_iso_8855():
    """Camber plus with the top out, toe plus with the front edges closer (from memory)."""
    assert camber_deg(gap_top_mm=2, gap_bottom_mm=7, between_mm=300) > 0
    assert camber_deg(gap_top_mm=7, gap_bottom_mm=2, between_mm=300) < 0
    assert toe_mm(front_mm=900, rear_mm=905) > 0
    assert toe_mm(front_mm=905, rear_mm=900) < 0


def test_toe_in_is_the_rear_less_the_front_as_in_tm_5_3810_293():
    """TM 5-3810-293-14&P: toe-in is the rear measurement less the front one."""
    assert toe_mm(36 * INCH_MM, 36.125 * INCH_MM) == pytest.approx(INCH_MM / 8)


def test_toe_of_two_wheels_at_fifteen_hundredths_of_a_degree():
    """ "How to Check Toe": on 24 in, 0.15 degrees a wheel is 0.062832 in."""
    both_in = 2 * 0.062832

    assert toe_total_deg(both_in * INCH_MM, 24 * INCH_MM) == pytest.approx(2 * 0.15, abs=5e-6)


def test_toe_of_an_angle_as_the_same_page_prints_it():
    """ "How to Check Toe": x = D sin(angle) a wheel, 0.15 degrees on 24 in is 0.062832 in."""
    assert toe_from_deg_mm(2 * 0.15, 24 * INCH_MM) == pytest.approx(
        2 * 0.062832 * INCH_MM, abs=3e-5
    )


@pytest.mark.parametrize(
    ("toe", "diameter", "total_deg"),
    [(4.0, 727.7, 0.3149), (INCH_MM / 8, 26 * INCH_MM, 2 * 0.1377)],
)
def test_toe_as_the_same_pages_turn_it_into_degrees(toe, diameter, total_deg):
    """Secondary pages print 0.31 for 4 mm on 727.7 mm, 0.138 a side for 1/8 in on 26 in."""
    assert toe_total_deg(toe, diameter) == pytest.approx(total_deg, abs=1e-4)


@pytest.mark.parametrize(
    ("diameter_in", "eighth_deg", "quarter_deg"),
    [(18, 0.3979, 0.7958), (20, 0.3581, 0.7162), (22, 0.3255, 0.6511), (23, 0.3114, 0.6228)],
)
def test_toe_at_the_tyre_sizes_of_carts(diameter_in, eighth_deg, quarter_deg):
    """Derived from 2 asin(t / 2D) with a calculator."""
    diameter = diameter_in * INCH_MM

    assert toe_total_deg(INCH_MM / 8, diameter) == pytest.approx(eighth_deg, abs=5e-5)
    assert toe_total_deg(INCH_MM / 4, diameter) == pytest.approx(quarter_deg, abs=6e-5)


def test_the_same_inches_on_a_bigger_tyre_are_a_smaller_angle():
    """1/8 in on 18 in is 0.398 degrees, on 22 in 0.326: toe needs its diameter (derived)."""
    angles = [toe_total_deg(INCH_MM / 8, diameter * INCH_MM) for diameter in (18, 22)]

    assert [round(angle, 3) for angle in angles] == [0.398, 0.326]


def test_toe_may_be_one_and_a_half_times_the_makers_as_in_49_cfr_570_7():
    """49 CFR 570.7(d), 570.60(d): 1.5 times the maker's value, so 1/8 in allows 3/16 in."""
    assert toe_limit_mm(INCH_MM / 8) == pytest.approx(3 / 16 * INCH_MM)
    assert toe_limit_mm(-INCH_MM / 8) == pytest.approx(-3 / 16 * INCH_MM)


@pytest.mark.parametrize(
    ("diameter_in", "sixteenth", "eighth", "quarter"),
    [
        (27.3, 12.1, 24.2, 48.4),
        (29.6, 11.2, 22.3, 44.6),
        (31.3, 10.5, 21.1, 42.2),
        (33.5, 9.9, 19.7, 39.4),
    ],
)
def test_toe_as_side_slip_is_table_i_of_49_cfr_570_7(diameter_in, sixteenth, eighth, quarter):
    """49 CFR 570.7, table I, in ft a mile, by tyre diameter (rows from memory)."""
    slips = [
        side_slip_ft_a_mile(part * INCH_MM, diameter_in * INCH_MM)
        for part in (1 / 16, 1 / 8, 1 / 4)
    ]

    assert slips == pytest.approx([sixteenth, eighth, quarter], abs=0.06)


def test_toe_as_side_slip_on_a_tyre_of_a_cart():
    """1/8 in on 18 in: 5280 / 144 = 36.67 ft a mile (derived by hand)."""
    assert side_slip_ft_a_mile(INCH_MM / 8, 18 * INCH_MM) == pytest.approx(36.67, abs=5e-3)


@pytest.mark.parametrize(
    ("top_mm", "between_mm", "camber"),
    [(5, 254, -1.1277), (3, 254, -0.6767), (INCH_MM / 8, 12 * INCH_MM, -0.5968)],
)
def test_camber_by_a_square_is_the_gap_over_the_height(top_mm, between_mm, camber):
    """ "DIY Camber ... Metal Square": atan of gap over height; a gap at the top is minus."""
    assert camber_deg(top_mm, 0, between_mm) == pytest.approx(camber, abs=5e-5)
    assert camber_deg(0, top_mm, between_mm) == pytest.approx(-camber, abs=5e-5)


def test_a_degree_of_camber_over_a_square_of_fourteen_inches():
    """A camber-jig recipe prints 0.2618 in a degree at 14 in; that is the figure for 15 in."""
    per_degree_in = 0.2618

    assert camber_deg(0, per_degree_in, 15) == pytest.approx(1, abs=1e-3)
    assert camber_deg(0, per_degree_in, 14) == pytest.approx(degrees(atan(0.2618 / 14)))
    assert camber_deg(0, per_degree_in, 14) > 1.07
