"""Speeds from timed lengths, against numbers worked by hand."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.speeds import both_ways_kmh, braking_share, speed_kmh

D = Decimal
MPH_PER_KMH = D(1) / D("1.609344")  # NIST SP 811 (2008) App. B.8


def test_speed_of_440_feet_in_14_6_and_15_seconds_is_20_27_mph():
    speed = both_ways_kmh(D("134.112"), D("14.6"), D("15.0"))

    assert round(speed * MPH_PER_KMH, 2) == D("20.27")


def test_speed_of_400_feet_in_13_4_seconds_is_20_35_mph():
    assert round(speed_kmh(D("121.92"), D("13.4")) * MPH_PER_KMH, 2) == D("20.35")


def test_braking_from_10_metres_a_second_in_10_metres_is_half_of_gravity():
    # 10**2 / (2 * 10) = 5 m/s2, over 9.80665
    assert round(braking_share(D(20), D(2), D(10)), 4) == D("0.5099")


@pytest.mark.parametrize("times", [(0, 1), (1, 0), (-1, 1)])
def test_speed_refuses_what_is_not_above_zero(times):
    with pytest.raises(ValueError, match="must be above zero"):
        speed_kmh(D(times[0]), D(times[1]))


def test_braking_refuses_no_distance():
    with pytest.raises(ValueError, match="stop_m must be above zero, not 0"):
        braking_share(D(20), D(2), D(0))


LENGTHS = st.decimals(10, 500, places=2)
TIMES = st.decimals(1, 100, places=2)


@given(LENGTHS, TIMES, TIMES)
def test_the_mean_of_two_ways_lies_between_them(length, one, other):
    speeds = sorted([speed_kmh(length, one), speed_kmh(length, other)])

    mean = both_ways_kmh(length, one, other)

    assert speeds[0] * D("0.999999") <= mean <= speeds[1] * D("1.000001")


@given(LENGTHS, TIMES, TIMES, LENGTHS)
def test_a_longer_stop_is_weaker_braking(marked, time, extra, stop):
    assert braking_share(marked, time, stop + extra) < braking_share(marked, time, stop)
