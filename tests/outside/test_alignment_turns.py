"""Turns of tie rods and camber sleeves against hand-worked figures.

Each is steering-arm geometry worked by hand: angle = change of length / arm, linear toe =
diameter * that angle. The figures of parts are common practice, no source.
"""

from math import degrees

import pytest

from alignment.advice import (
    FLATS_A_TURN,
    Rod,
    Sleeve,
    Steering,
    advise,
    camber_deg_a_flat,
    one_rod_mm_a_flat,
    toe_mm_a_flat,
    toe_moved_mm,
)

INCH_MM = 25.4
# 1/2-20 UNF: 20 threads an inch, ASME B1.1
HALF_TWENTY_MM = INCH_MM / 20
BAND = {"target": INCH_MM * 3 / 16, "low": INCH_MM / 8, "high": INCH_MM / 4}


def rod(**figures):
    return Rod(HALF_TWENTY_MM, arm_mm=5 * INCH_MM, is_ahead=False, **figures)


def inches_a_turn(rod):
    return FLATS_A_TURN * one_rod_mm_a_flat(rod, 18 * INCH_MM) / INCH_MM


# angle = 0.05 in / 5 in; toe = 18 in * that: of the one rod of one side
def test_one_rod_of_half_twenty_turned_once_moves_18_hundredths_of_an_inch():
    single = rod(is_double=False)

    assert inches_a_turn(single) == pytest.approx(0.18, rel=1e-3)
    turned_deg = degrees(FLATS_A_TURN * single.mm_a_flat / single.arm_mm)
    assert turned_deg == pytest.approx(0.573, rel=1e-3)
    assert 1 / 8 / inches_a_turn(single) == pytest.approx(0.694, rel=1e-3)


def test_a_left_and_right_hand_sleeve_moves_twice_that():
    assert inches_a_turn(rod(is_double=True)) == pytest.approx(0.36, rel=1e-3)


def test_both_rods_turned_alike_move_twice_what_one_does():
    both_mm = toe_mm_a_flat(rod(is_double=False), 18 * INCH_MM)

    assert FLATS_A_TURN * both_mm / INCH_MM == pytest.approx(0.36, rel=1e-3)


# (1/4 / 2) * 4.0 / (20.5 * 1.5 mm) = 0.41 turn a side
def test_seven_sixteenths_to_three_takes_two_and_a_half_flats_a_side():
    behind = Rod(1.5, False, 4 * INCH_MM, is_ahead=False)
    a_flat = toe_mm_a_flat(behind, 20.5 * INCH_MM)
    advice = advise(INCH_MM * 7 / 16, **BAND, a_flat=a_flat)

    assert advice.exact_flats == pytest.approx(-2.5, abs=0.03)
    assert advice.exact_flats / FLATS_A_TURN == pytest.approx(-0.41, abs=0.005)
    assert a_flat / INCH_MM == pytest.approx(0.101, abs=5e-4)


# (5/16 / 2) * 4.5 / (22 * 1.25 mm) = 0.65 turn a side
def test_a_half_to_three_sixteenths_takes_four_flats_a_side():
    ahead = Rod(1.25, False, 4.5 * INCH_MM, is_ahead=True)
    advice = advise(INCH_MM / 2, **BAND, a_flat=toe_mm_a_flat(ahead, 22 * INCH_MM))

    assert advice.exact_flats == pytest.approx(3.9, abs=0.01)
    assert (advice.flats, advice.way) == (4, "longer")
    assert advice.predicted / INCH_MM == pytest.approx(0.179, abs=5e-4)


# atan(2 * 1.25 mm / 5.5 in)
def test_a_camber_sleeve_leans_the_top_out_by_a_degree_a_turn():
    sleeve = Sleeve(1.25, True, 5.5 * INCH_MM)

    assert FLATS_A_TURN * camber_deg_a_flat(sleeve) == pytest.approx(1.03, abs=0.005)


# 1.75 in * 0.98 deg / 4.0 in = 0.43 deg; 20.5 in * that
def test_a_degree_of_camber_moves_a_wheels_toe_by_an_eighth_and_more():
    steering = Steering(Rod(1.5, False, 4 * INCH_MM, is_ahead=True), rod_height_mm=1.75 * INCH_MM)
    moved_in = toe_moved_mm(0.98, steering, 20.5 * INCH_MM) / INCH_MM

    assert moved_in == pytest.approx(0.15, abs=0.005)
    assert degrees(moved_in / 20.5) == pytest.approx(0.43, abs=0.005)
    assert 2 * moved_in == pytest.approx(0.31, abs=0.005)
