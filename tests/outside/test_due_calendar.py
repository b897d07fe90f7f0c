"""Due days against dateutil (its recurrences are RFC 5545's) and the IANA zone rules."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from dateutil.relativedelta import relativedelta
from dateutil.rrule import DAILY, rrule
from hypothesis import given
from hypothesis import strategies as st

from fleet.due import Terms, dates_of, state_on
from fleet.layup import LayUp, after_running_days
from fleet.reach import Limits, Use
from fleet.schedule import schedule
from tests.fleet.story import SHORT_CHECK, Story, days_after, noon

DAYS = st.dates(date(2023, 1, 1), date(2030, 12, 31))
NEW_YORK = ZoneInfo("America/New_York")


@given(DAYS, st.integers(0, 800), st.integers(0, 30))
def test_calendar_dues_agree_with_relativedelta(start, days, leeway):
    used = Use()
    found = dates_of(
        Terms(Limits(days), leeway=Limits(leeway)), used.anchor(noon(start), start), used
    )

    assert found.due_on == start + relativedelta(days=days)
    assert found.late_on == start + relativedelta(days=days + leeway + 1)


@given(DAYS, st.integers(1, 400), st.integers(0, 200), st.integers(1, 200))
def test_calendar_dues_agree_with_the_recurrence_of_days_in_use(start, days, first, length):
    rest = LayUp(days_after(start, first), days_after(start, first + length))
    resting = {days_after(start, first + day) for day in range(length)}
    every_day = rrule(DAILY, dtstart=datetime.combine(start, datetime.min.time()) + timedelta(1))
    in_use = (day.date() for day in every_day if day.date() not in resting)
    expected = next(day for count, day in enumerate(in_use, 1) if count == days)

    assert after_running_days(start, days, [rest]) == expected


@pytest.mark.parametrize(
    ("start", "days", "due"),
    [
        (date(2026, 3, 2), 30, date(2026, 4, 1)),
        (date(2026, 3, 2), 90, date(2026, 5, 31)),
        (date(2024, 2, 28), 1, date(2024, 2, 29)),
        (date(2024, 2, 29), 365, date(2025, 2, 28)),
        (date(2025, 2, 28), 365, date(2026, 2, 28)),
        (date(2025, 11, 30), 91, date(2026, 3, 1)),
        (date(2026, 1, 31), 31, date(2026, 3, 3)),
        (date(2026, 12, 31), 182, date(2027, 7, 1)),
    ],
)
def test_limits_are_days_and_skip_no_month_end(start, days, due):
    """RFC 5545 3.3.10 skips days that a month has not; a limit in days never does."""
    assert after_running_days(start, days, []) == due


@pytest.mark.parametrize(("change", "hours"), [(date(2026, 3, 8), 23), (date(2026, 11, 1), 25)])
def test_calendar_days_are_days_of_the_site_however_long(change, hours):
    """IANA tz, America/New_York 2026: the clocks change on these days."""
    midnight = datetime.combine(change, datetime.min.time(), NEW_YORK)
    next_midnight = datetime.combine(days_after(change, 1), datetime.min.time(), NEW_YORK)
    used = Use()
    start = days_after(change, -3)

    found = dates_of(Terms(Limits(3)), used.anchor(noon(start), start), used)

    assert next_midnight.astimezone(UTC) - midnight.astimezone(UTC) == timedelta(hours=hours)
    assert found.due_on == change
    assert state_on(found, change) == "due"
    assert state_on(found, days_after(change, 1)) == "late"


@pytest.mark.parametrize(
    ("utc", "on_time"),
    [
        (datetime(2026, 11, 2, 4, 30, tzinfo=UTC), True),  # 23:30 EST of the due day
        (datetime(2026, 11, 2, 5, 30, tzinfo=UTC), False),  # 00:30 the day after
    ],
)
def test_calendar_dues_end_at_midnight_of_the_site(utc, on_time):
    """IANA tz: on 1 Nov 2026 New York is back at UTC-5 from 06:00Z."""
    day = utc.astimezone(NEW_YORK).date()
    story = Story().fit(date(2025, 1, 1)).happen("started-up", date(2026, 10, 18))
    story.round(day, did=SHORT_CHECK | {"steering-joints"}, at=utc)

    (short,) = [one for one in schedule(story.history()) if one.rule_code == "start-short-check"]

    assert short.dates.due_on == date(2026, 11, 1)
    assert (short.state_at_end == "due") is on_time


def test_use_of_a_day_counts_whole_days_as_the_calendar_does():
    """A forecast of n whole days ends where relativedelta puts n days."""
    story = Story().happen("wheel-off", date(2026, 2, 27), "left front")
    story.read(date(2026, 2, 27), "100.0")
    per_day = Decimal(3)

    (lugs,) = schedule(story.history())

    days = int(Decimal(5) // per_day)
    assert lugs.dates.due_on == date(2026, 2, 27) + relativedelta(days=days)
