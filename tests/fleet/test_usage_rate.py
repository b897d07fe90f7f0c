"""The rate of use, and the days it leaves."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.usage import LifePoint, Rate, Shown, days_until, life_points, use_rate

D = Decimal
DAY_0 = datetime(2026, 3, 2, 12, tzinfo=UTC)
FIGURES = st.decimals(min_value=0, max_value=99999, places=1)


def day(days: float) -> datetime:
    return DAY_0 + timedelta(days=days)


def points(*pairs: tuple[float, str]) -> tuple[LifePoint, ...]:
    return life_points([], [Shown(day(days), D(value)) for days, value in pairs])


def test_the_use_rate_of_the_worked_case():
    found = points((0, "412.0"), (14, "430.5"), (28, "446.0"))

    rate = use_rate(found)

    assert round(rate.per_day, 4) == D("1.2143")
    assert (round(rate.low, 4), round(rate.high, 4)) == (D("1.1071"), D("1.3214"))
    assert (rate.count, rate.estimated) == (3, False)
    assert days_until(D("16.0"), rate.per_day) == 13


def test_one_bad_reading_does_not_move_the_use_rate():
    steady = [(days, str(400 + days)) for days in range(0, 50, 5)]

    found = points(*steady[:-1], (45, "1445"))

    assert use_rate(found).per_day == 1


def test_days_without_use_count():
    found = points((0, "400"), (10, "410"), (20, "410"), (30, "410"))

    assert use_rate(found).per_day < D("0.5")
    assert use_rate(points((0, "400"), (10, "400"), (20, "400"))) == Rate(
        D(0), D(0), D(0), 3, False
    )


def test_the_use_rate_looks_at_the_60_days_before_the_last_reading():
    edge = [(40, "40"), (60, "60"), (80, "80"), (100, "100")]

    with_old = use_rate(points((0, "0"), (39, "0"), *edge))

    assert (with_old.per_day, with_old.count) == (1, 4)
    assert use_rate(points(*edge), window_days=20) is None


def test_the_use_rate_is_none_for_fewer_than_three_readings():
    assert use_rate(()) is None
    assert use_rate(points((0, "0"), (10, "10"))) is None
    assert use_rate(points((0, "0"), (0, "0"), (10, "10"))) is None


def test_the_use_rate_is_none_across_a_gap_above_45_days():
    assert use_rate(points((0, "0"), (45, "45"), (50, "50"))).per_day == 1
    assert use_rate(points((0, "0"), (45.5, "45"), (50, "50"))) is None


def test_the_use_rate_is_none_for_readings_of_less_than_a_week():
    minutes_later = points((0, "412.5"), (0.004, "413"), (0.006, "413.2"))

    assert use_rate(minutes_later) is None
    assert use_rate(points((0, "0"), (3, "3"), (6.9, "7"))) is None
    assert use_rate(points((0, "0"), (3, "3"), (7, "7"))).per_day == 1


def test_readings_less_than_half_a_day_apart_are_one_sitting():
    first_day = [(hour / 24, str(hour)) for hour in range(8)]

    assert use_rate(points(*first_day, (8, "8"))) is None
    assert use_rate(points(*first_day, (8, "16"), (16, "24"))).high < 2


def test_a_reading_every_hour_gives_a_rate_over_days():
    hourly = [(hour / 24, str(hour // 24 + min(hour % 24, 8) / 8)) for hour in range(24 * 10)]

    rate = use_rate(points(*hourly))

    assert round(rate.per_day, 1) == 1
    assert rate.high < 2


def test_the_use_rate_is_never_above_what_is_possible():
    runs_away = points((0, "0"), (5, "500"), (10, "1000"))

    assert use_rate(runs_away, most_per_day=D(24)) == Rate(D(24), D(24), D(24), 3, False)


def test_two_points_at_one_moment_do_not_break_the_use_rate():
    rate = use_rate(points((0, "0"), (0, "0"), (10, "10"), (20, "20")))

    assert (rate.per_day, rate.count) == (1, 4)


def test_points_tied_in_time_and_life_still_have_a_range():
    rate = use_rate(points((0, "5"), (10, "5"), (20, "5"), (20, "5"), (20, "5"), (20, "5")))

    assert (rate.low, rate.high) == (0, 0)


def test_an_estimate_marks_the_use_rate():
    readings = [Shown(day(days), D(days), estimated=days == 10) for days in (0, 10, 20)]

    assert use_rate(life_points([], readings)).estimated


MINUTES = st.integers(0, 20 * 24 * 60)
RUNNING_TENTHS = st.lists(st.tuples(MINUTES, st.integers(0, 6)), min_size=3, max_size=12)


@given(RUNNING_TENTHS, st.integers(0, 2))
def test_a_clock_that_runs_within_the_day_never_makes_more_than_24_hours(read, off):
    """The meter shows the hours since DAY_0, up to 0.6 h off: what rounding and doubts let by."""
    shown = sorted(read)
    lives = [D(minutes) / 60 + D(tenths * off) / 20 for minutes, tenths in shown]

    rate = use_rate(
        points(*((at / 1440, str(life)) for (at, _), life in zip(shown, lives, strict=True))),
        most_per_day=D(24),
    )

    assert rate is None or 0 <= rate.low <= rate.per_day <= rate.high <= 24


@given(st.lists(st.tuples(st.integers(0, 40), FIGURES), min_size=3, max_size=9))
def test_the_use_rate_lies_in_its_range_and_is_never_below_zero(pairs):
    ordered = zip(sorted(d for d, _ in pairs), sorted(v for _, v in pairs), strict=True)

    rate = use_rate(points(*((days, str(value)) for days, value in ordered)))

    if rate:
        assert 0 <= rate.low <= rate.per_day <= rate.high


@pytest.mark.parametrize(
    ("remaining", "per_day", "days"),
    [
        ("16.0", "1.2143", 13),
        ("26", "2", 13),
        ("25.9", "2", 12),
        ("0", "2", 0),
        ("-3", "2", 0),
        ("1", "1E-30", 36525),
        ("36524.9", "1", 36524),
        ("36525", "1", 36525),
    ],
)
def test_days_until_are_whole_days(remaining, per_day, days):
    assert days_until(D(remaining), D(per_day)) == days


@pytest.mark.parametrize("per_day", ["0", "-0.5"])
def test_days_until_refuses_a_rate_that_never_arrives(per_day):
    with pytest.raises(ValueError, match=f"must be above zero, not {per_day}"):
        days_until(D(10), D(per_day))
