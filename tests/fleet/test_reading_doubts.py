"""Readings that are not taken as they stand."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.reading_doubts import Doubt, doubt_of
from fleet.usage import LifePoint, MeterStart, Shown, TyreChange, life_points

D = Decimal
DAY_0 = datetime(2026, 3, 2, 12, tzinfo=UTC)
MILE_M = D("1609.344")


def day(days: float) -> datetime:
    return DAY_0 + timedelta(days=days)


def points(*pairs: tuple[float, str]) -> tuple[LifePoint, ...]:
    return life_points([], [Shown(day(days), D(value)) for days, value in pairs])


@pytest.mark.parametrize(
    ("days", "value", "doubt"),
    [
        (3, "412.0", None),
        (3, "448.0", None),
        (3, "448.1", Doubt.QUESTIONED),
        (3, "484.5", Doubt.QUESTIONED),
        (3, "484.6", Doubt.IMPOSSIBLE),
        (3, "502.0", Doubt.IMPOSSIBLE),
        (3, "411.9", Doubt.LOWER),
        (1 / 24, "412.8", None),
        (1 / 24, "413.6", Doubt.IMPOSSIBLE),
        (8 / 24, "420.0", None),
        (0, "412.0", None),
        (0, "411.0", Doubt.LOWER),
    ],
)
def test_an_hour_reading_is_doubted(days, value, doubt):
    assert doubt_of(points((0, "412.0")), day(days), D(value), measure="hours") is doubt


def test_readings_of_whole_days_may_lie_almost_a_day_closer():
    found = points((0, "412.0"))

    assert doubt_of(found, day(0), D("418.0"), measure="hours") is Doubt.IMPOSSIBLE
    assert doubt_of(found, day(0), D("418.0"), measure="hours", grace_hours=D(24)) is None


@pytest.mark.parametrize(
    ("days", "miles", "hours_run", "doubt"),
    [
        (1, "300", None, None),
        (1, "301", None, Doubt.QUESTIONED),
        (1, "612.5", None, Doubt.QUESTIONED),
        (1, "612.6", None, Doubt.IMPOSSIBLE),
        (1, "27.5", "1.0", None),
        (1, "27.6", "1.0", Doubt.QUESTIONED),
        (1, "0", "0", None),
        (1, "700", "30", Doubt.IMPOSSIBLE),
    ],
)
def test_a_distance_reading_is_doubted(days, miles, hours_run, doubt):
    found = life_points([MeterStart(day(0), D(0))], [], unit=MILE_M)

    told = doubt_of(
        found,
        day(days),
        D(miles),
        measure="distance",
        unit=MILE_M,
        hours_run=hours_run and D(hours_run),
    )

    assert told is doubt


@pytest.mark.parametrize(
    ("before", "rolls_at", "doubt"),
    [
        ("9998.7", "10000", Doubt.MAYBE_ROLLED),
        ("9000", "10000", Doubt.MAYBE_ROLLED),
        ("8999.9", "10000", Doubt.LOWER),
        ("10000", "10000", Doubt.LOWER),
        ("9998.7", None, Doubt.LOWER),
    ],
)
def test_a_lower_reading_near_the_roll_point_may_have_rolled(before, rolls_at, doubt):
    rolls_at = rolls_at and D(rolls_at)

    told = doubt_of(points((0, before)), day(2), D("4.2"), measure="hours", rolls_at=rolls_at)

    assert told is doubt


@pytest.mark.parametrize(
    ("value", "doubt"),
    [
        ("420.0", None),
        ("430.1", Doubt.LOWER),
        ("411.0", Doubt.LOWER),
        ("412.0", None),
    ],
)
def test_an_old_reading_that_comes_in_late_is_held_against_both_neighbours(value, doubt):
    found = points((0, "412.0"), (10, "430.0"))

    assert doubt_of(found, day(5), D(value), measure="hours") is doubt


def test_an_old_reading_may_leave_the_next_one_too_much_to_have_run():
    found = points((0, "412.0"), (2, "436.0"))

    assert doubt_of(found, day(1), D("422.0"), measure="hours") is Doubt.QUESTIONED
    assert doubt_of(found, day(1.5), D("412.0"), measure="hours") is Doubt.IMPOSSIBLE


def test_a_reading_before_the_first_one_is_held_against_it():
    found = points((10, "430.0"))

    assert doubt_of(found, day(0), D("420.0"), measure="hours") is None
    assert doubt_of(found, day(0), D("431.0"), measure="hours") is Doubt.LOWER


def test_an_old_reading_from_before_a_meter_change_is_held_against_the_final_figure():
    starts = [MeterStart(day(0), D(1180)), MeterStart(day(10), D(0), old_final=D("1204.6"))]
    found = life_points(starts, [])

    assert doubt_of(found, day(5), D("1200.0"), measure="hours") is None
    assert doubt_of(found, day(5), D("1204.7"), measure="hours") is Doubt.LOWER
    assert doubt_of(found, day(12), D("5.0"), measure="hours") is None


def test_an_old_distance_is_held_against_the_next_in_life_units():
    found = life_points([], [Shown(day(0), D(0)), Shown(day(2), D(400))], unit=MILE_M)
    asked = {"measure": "distance", "unit": MILE_M}

    assert doubt_of(found, day(1), D(99), **asked) is Doubt.QUESTIONED
    assert doubt_of(found, day(1), D(99), hours_run=D(4), **asked) is Doubt.QUESTIONED
    assert doubt_of(found, day(1), D(101), **asked) is None
    assert doubt_of(found, day(1), D(100), hours_run=D(1), **asked) is Doubt.QUESTIONED


def test_hours_run_are_not_asked_across_the_next_point():
    found = life_points([], [Shown(day(0), D(0)), Shown(day(2), D(60))], unit=MILE_M)

    told = doubt_of(found, day(1), D(10), measure="distance", unit=MILE_M, hours_run=D("0.5"))

    assert told is None


def test_hours_run_say_nothing_of_an_hour_reading():
    found = points((0, "412.0"))

    assert doubt_of(found, day(1), D("420.0"), measure="hours", hours_run=D(1)) is None


def test_an_old_distance_from_before_a_meter_change_is_held_against_the_final_figure():
    starts = [MeterStart(day(0), D(1180)), MeterStart(day(10), D(0), old_final=D("1204.6"))]
    found = life_points(starts, [], unit=MILE_M)

    for miles, doubt in [("1204.6", None), ("1204.7", Doubt.LOWER)]:
        told = doubt_of(found, day(5), D(miles), measure="distance", unit=MILE_M)
        assert told is doubt


def test_smaller_tyres_do_not_make_an_old_reading_too_high():
    start = MeterStart(day(0), D(1000), wheel_driven=True, set_for_mm=D(500))
    found = life_points([start], [Shown(day(10), D(1082))], [TyreChange(day(0), D(400))])

    assert found[-1].life < 1080
    assert doubt_of(found, day(9.5), D(1080), measure="hours") is None


def test_the_gravest_doubt_is_told():
    found = points((0, "412.0"), (2, "452.0"))

    assert doubt_of(found, day(1), D("426.0"), measure="hours") is Doubt.IMPOSSIBLE


def test_an_estimate_raises_no_doubt():
    estimate = Shown(day(5), D(450), estimated=True)
    found = life_points([], [Shown(day(0), D(412)), estimate])

    assert doubt_of(found, day(6), D("440"), measure="hours") is None


def test_the_first_reading_of_all_is_not_doubted():
    assert doubt_of((), day(0), D("412.0"), measure="hours") is None


def test_doubt_is_of_hours_or_distance_alone():
    with pytest.raises(ValueError, match="not 'weight'"):
        doubt_of((), day(0), D("412.0"), measure="weight")


@given(st.lists(st.integers(0, 12), min_size=1, max_size=10), st.integers(0, 9))
def test_no_reading_of_a_cart_used_up_to_12_hours_a_day_is_doubted(used, left_out):
    totals = [D(412 + sum(used[:place])) for place in range(len(used) + 1)]
    readings = [Shown(day(place), total) for place, total in enumerate(totals)]
    late = readings.pop(min(left_out, len(readings) - 1))

    assert doubt_of(life_points([], readings), late.at, late.value, measure="hours") is None
