"""Speeds from timed lengths, against numbers worked by hand."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.speed import (
    BOUNDARY,
    CANT_TELL,
    OVER,
    UNDER,
    TimedSpeed,
    both_ways_kmh,
    predicted_kmh,
    predicted_verdict,
    speed_kmh,
    timed_speed,
    verdict,
)
from lifts.speed_classes import Limit

D = Decimal
KMH_PER_MPH = D("1.609344")  # NIST SP 811 (2008) App. B.8
BELOW_20_MPH = Limit(D(32), D("32.18688"), True, "below 20 mph (32 km/h)")
AT_MOST_20_MPH = Limit(None, D("32.18688"), False, "at most 20 mph")


def in_mph(kmh):
    return round(kmh / KMH_PER_MPH, 2)


def timed(kmh, uncertainty_kmh):
    return TimedSpeed(D(kmh), D(uncertainty_kmh), (D(kmh), D(kmh)))


def test_speed_of_440_feet_in_14_6_and_15_seconds_is_20_27_mph():
    assert in_mph(both_ways_kmh(D("134.112"), D("14.6"), D("15.0"))) == D("20.27")


def test_speed_of_400_feet_in_13_4_seconds_is_20_35_mph():
    assert in_mph(speed_kmh(D("121.92"), D("13.4"))) == D("20.35")


# common practice, no source: hand timing u = 0.2 s a run, k = 2
@pytest.mark.parametrize(
    ("length_m", "times_s", "mph", "uncertainty_mph"),
    [
        ("134.112", ("14.6", "15.0"), "20.27", "0.39"),
        ("121.92", ("13.4", "13.9"), "19.99", "0.41"),
    ],
)
def test_timed_speed_by_hand(length_m, times_s, mph, uncertainty_mph):
    speed = timed_speed(D(length_m), *map(D, times_s))

    assert in_mph(speed.kmh) == D(mph)
    assert in_mph(speed.uncertainty_kmh) == D(uncertainty_mph)
    assert verdict(speed, AT_MOST_20_MPH) == CANT_TELL


def test_timed_speed_keeps_each_run():
    speed = timed_speed(D("121.92"), D("13.4"), D("13.9"))

    assert [in_mph(run_kmh) for run_kmh in speed.runs_kmh] == [D("20.35"), D("19.62")]


def test_two_runs_at_10_metres_a_second_have_half_of_a_run_times_root_2():
    # each 36 km/h x 0.2 s / 10 s = 0.72 km/h; their mean 0.72 / sqrt 2, twice that
    speed = timed_speed(D(100), D(10), D(10))

    assert round(speed.uncertainty_kmh, 4) == D("1.0182")


@pytest.mark.parametrize("times", [(0, 1), (1, 0), (-1, 1)])
def test_speed_refuses_what_is_not_above_zero(times):
    with pytest.raises(ValueError, match="must be above zero"):
        speed_kmh(D(times[0]), D(times[1]))


def test_timed_speed_refuses_a_timing_below_zero():
    with pytest.raises(ValueError, match="timing_u_s must be at least zero, not -1"):
        timed_speed(D(100), D(10), D(10), D(-1))


def test_a_perfect_timing_leaves_no_doubt():
    assert timed_speed(D(100), D(10), D(10), D(0)).uncertainty_kmh == 0


def test_predicted_kmh_grows_with_the_diameter():
    assert predicted_kmh(D(18), D(450), D(500)) == D(20)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ((-1, 450, 500), "speed_kmh must be at least zero, not -1"),
        ((18, 0, 500), "from_mm must be above zero, not 0"),
        ((18, 450, -5), "to_mm must be above zero, not -5"),
    ],
)
def test_predicted_kmh_refuses(values, said):
    with pytest.raises(ValueError, match=said):
        predicted_kmh(*map(D, values))


@pytest.mark.parametrize(
    ("kmh", "uncertainty_kmh", "said"),
    [
        ("32.8", "0.6", OVER),
        ("32.7", "0.6", CANT_TELL),
        ("31.3", "0.6", UNDER),
        ("31.5", "0.6", CANT_TELL),
        ("32.1", "0.05", BOUNDARY),  # over 32 km/h, under 20 mph
        ("32.0", "0", CANT_TELL),  # at one reading, under the other
        ("32.1", "0.1", CANT_TELL),
    ],
)
def test_verdict_of_a_limit_with_two_readings(kmh, uncertainty_kmh, said):
    assert verdict(timed(kmh, uncertainty_kmh), BELOW_20_MPH) == said


@pytest.mark.parametrize(
    ("kmh", "said"),
    [("32.28688", CANT_TELL), ("32.28689", OVER), ("32.08688", CANT_TELL), ("32.08687", UNDER)],
)
def test_verdict_at_the_edge_can_not_tell(kmh, said):
    assert verdict(timed(kmh, "0.1"), AT_MOST_20_MPH) == said


@pytest.mark.parametrize(
    ("kmh", "said"),
    [("31.99", UNDER), ("32", BOUNDARY), ("32.18", BOUNDARY), ("32.18688", OVER), ("33", OVER)],
)
def test_predicted_verdict_between_two_readings_is_a_boundary(kmh, said):
    assert predicted_verdict(D(kmh), BELOW_20_MPH) == said


@pytest.mark.parametrize(("kmh", "said"), [("32.18688", UNDER), ("32.18689", OVER)])
def test_predicted_verdict_at_a_limit_not_to_be_exceeded(kmh, said):
    assert predicted_verdict(D(kmh), AT_MOST_20_MPH) == said


LENGTHS = st.decimals(10, 500, places=2)
TIMES = st.decimals(1, 100, places=2)
SPEEDS = st.decimals(0, 60, places=2)
UNCERTAINTIES = st.decimals(0, 5, places=2)
DIAMETERS = st.decimals(300, 700, places=1)
ORDER = {UNDER: 0, CANT_TELL: 1, BOUNDARY: 1, OVER: 2}


@given(LENGTHS, TIMES, TIMES)
def test_the_mean_of_two_ways_lies_between_them(length, one, other):
    speeds = sorted([speed_kmh(length, one), speed_kmh(length, other)])

    mean = both_ways_kmh(length, one, other)

    assert speeds[0] * D("0.999999") <= mean <= speeds[1] * D("1.000001")


@given(LENGTHS, TIMES, TIMES)
def test_there_and_back_is_back_and_there(length, one, other):
    speed, turned = timed_speed(length, one, other), timed_speed(length, other, one)

    assert (speed.kmh, speed.uncertainty_kmh) == (turned.kmh, turned.uncertainty_kmh)
    assert speed.runs_kmh == turned.runs_kmh[::-1]


@given(LENGTHS, TIMES, TIMES, st.decimals("0.01", 1, places=2))
def test_a_rougher_timing_is_less_certain(length, one, other, more):
    fine = timed_speed(length, one, other)
    rough = timed_speed(length, one, other, D("0.2") + more)

    assert rough.uncertainty_kmh > fine.uncertainty_kmh


@given(SPEEDS, SPEEDS, UNCERTAINTIES)
def test_a_faster_cart_is_never_further_under(one, other, uncertainty):
    slow, fast = sorted([one, other])

    slower = ORDER[verdict(timed(slow, uncertainty), BELOW_20_MPH)]
    assert slower <= ORDER[verdict(timed(fast, uncertainty), BELOW_20_MPH)]
    assert (
        ORDER[predicted_verdict(slow, BELOW_20_MPH)] <= ORDER[predicted_verdict(fast, BELOW_20_MPH)]
    )


@given(SPEEDS, DIAMETERS, DIAMETERS)
def test_changing_tyres_back_gives_the_speed_back(kmh, one, other):
    back = predicted_kmh(predicted_kmh(kmh, one, other), other, one)

    assert abs(back - kmh) < D("1e-20")
