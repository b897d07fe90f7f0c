"""The morning of every day in every zone: one moment, of that day, at the hour asked for."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo, available_timezones

import pytest

from shared.clock import day_at, moment_of

YEAR = [date(2026, 1, 1) + timedelta(days=days) for days in range(365)]
# no day of that date was lived there (IANA tz database)
LEFT_OUT = [("Pacific/Apia", date(2011, 12, 30)), ("Pacific/Kwajalein", date(1993, 8, 21))]


def wall_moves(zone, day):
    """Whether the zone's offset changes within a day and a half of the day's noon."""
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    around = (noon + timedelta(hours=hours) for hours in range(-36, 37, 3))
    return len({moment.astimezone(zone).utcoffset() for moment in around}) > 1


@pytest.mark.parametrize("hour", [0, 2, 6])
def test_every_morning_is_once_on_its_own_day(hour):
    moved = 0
    for name in available_timezones():
        mornings = [moment_of(day, hour, name) for day in YEAR]
        assert [day_at(name, morning) for morning in mornings] == YEAR, name
        assert mornings == sorted(set(mornings)), name
        for day, morning in zip(YEAR, mornings, strict=True):
            if morning.astimezone(ZoneInfo(name)).hour != hour:
                moved += 1
                assert wall_moves(ZoneInfo(name), day), (name, day)

    assert moved < len(available_timezones())


@pytest.mark.parametrize(("zone", "day"), LEFT_OUT)
def test_a_day_that_a_zone_left_out_has_no_morning(zone, day):
    mornings = [moment_of(day + timedelta(days=days), 6, zone) for days in (-1, 1)]

    assert day_at(zone, moment_of(day, 6, zone)) != day
    assert [day_at(zone, one) - day for one in mornings] == [timedelta(-1), timedelta(1)]
    assert mornings[1] - mornings[0] == timedelta(days=1)
