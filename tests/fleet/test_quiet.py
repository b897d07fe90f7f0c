"""Quiet hours on every clock there is: what the clock on the wall shows decides."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo, available_timezones

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.quiet import quiet_until

HOURS = st.integers(0, 23)
ZONES = st.sampled_from(sorted(available_timezones()))
MOMENTS = st.datetimes(datetime(2024, 1, 1), datetime(2036, 1, 1), timezones=st.just(UTC))
# clocks were set within the day after each of these, in these zones (IANA tz database)
SET = [
    ("America/New_York", "2026-03-08T05:00Z"),
    ("America/New_York", "2026-11-01T04:00Z"),
    ("Australia/Lord_Howe", "2026-10-03T13:30Z"),
    ("Australia/Lord_Howe", "2026-04-04T13:00Z"),
    ("America/Havana", "2026-03-08T03:00Z"),
    ("America/Havana", "2026-11-01T03:00Z"),
    ("Atlantic/Azores", "2026-03-28T23:00Z"),
    ("Atlantic/Azores", "2026-10-24T23:00Z"),
    ("Africa/Casablanca", "2026-02-14T12:00Z"),
    ("Pacific/Apia", "2011-12-30T00:00Z"),
    ("Pacific/Kwajalein", "1993-08-21T00:00Z"),
]


def shown_quiet(hour, from_hour, until_hour):
    """Whether an hour on the wall lies in the quiet ones."""
    if from_hour <= until_hour:
        return from_hour <= hour < until_hour
    return hour >= from_hour or hour < until_hour


def set_within_a_day(zone, at):
    offsets = {
        (at + timedelta(hours=hours)).astimezone(ZoneInfo(zone)).utcoffset()
        for hours in range(-26, 27)
    }
    return len(offsets) > 1


def judge(zone, at, from_hour, until_hour):
    end = quiet_until(at, zone, from_hour, until_hour)
    hour = at.astimezone(ZoneInfo(zone)).hour

    assert (end is not None) == shown_quiet(hour, from_hour, until_hour), (zone, at)
    if end is not None:
        assert at < end <= at + timedelta(hours=25)
        if not set_within_a_day(zone, at):
            # the one hour that is not quiet may be skipped
            assert quiet_until(end, zone, from_hour, until_hour) is None
            assert end.astimezone(ZoneInfo(zone)).hour == until_hour


@given(ZONES, MOMENTS, HOURS, HOURS)
def test_it_is_quiet_when_the_wall_clock_says_so(zone, at, from_hour, until_hour):
    judge(zone, at, from_hour, until_hour)


@pytest.mark.parametrize(("zone", "begins"), SET)
@given(minutes=st.integers(0, 24 * 60), from_hour=HOURS, until_hour=HOURS)
def test_it_is_so_on_days_on_which_the_clock_is_set(zone, begins, minutes, from_hour, until_hour):
    at = datetime.fromisoformat(begins) + timedelta(minutes=minutes)

    judge(zone, at, from_hour, until_hour)


@pytest.mark.parametrize(
    ("at", "end"),
    [
        ("2026-03-05T01:59:59Z", None),  # 20:59:59 in New York
        ("2026-03-05T02:00Z", "2026-03-05T11:00Z"),
        ("2026-03-05T10:59:59Z", "2026-03-05T11:00Z"),
        ("2026-03-05T11:00Z", None),
        ("2026-03-08T02:00Z", "2026-03-08T10:00Z"),  # a night of eight hours
        ("2026-11-01T01:00Z", "2026-11-01T11:00Z"),  # and one of ten
    ],
)
def test_quiet_from_nine_to_six_in_new_york(at, end):
    found = quiet_until(datetime.fromisoformat(at), "America/New_York", 21, 6)

    assert found == (end and datetime.fromisoformat(end))


@pytest.mark.parametrize("hour", [0, 6, 23])
def test_the_same_hour_is_no_quiet(hour):
    for minutes in range(0, 1440, 30):
        at = datetime(2026, 3, 5, tzinfo=UTC) + timedelta(minutes=minutes)
        assert quiet_until(at, "UTC", hour, hour) is None
