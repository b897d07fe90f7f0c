"""Hours that a clock leaves out or has twice; the moves are those of the IANA tz database."""

from datetime import UTC, date, datetime

import pytest

from shared.clock import end_of, moment_of, morning_of

TROLL, CHATHAM = "Antarctica/Troll", "Pacific/Chatham"
NUUK, NEW_YORK = "America/Nuuk", "America/New_York"


def utc(*parts):
    return datetime(*parts, tzinfo=UTC)


@pytest.mark.parametrize(
    ("zone", "day", "hour", "at"),
    [
        # 2:00 becomes 3:00
        (NEW_YORK, date(2026, 3, 8), 2, utc(2026, 3, 8, 7)),
        # 1:00 becomes 3:00
        (TROLL, date(2026, 3, 29), 2, utc(2026, 3, 29, 1)),
        # 2:45 becomes 3:45
        (CHATHAM, date(2026, 9, 27), 3, utc(2026, 9, 26, 14)),
        # 0:01 became 1:01
        ("America/St_Johns", date(2006, 4, 2), 1, utc(2006, 4, 2, 3, 31)),
    ],
)
def test_an_hour_left_out_becomes_the_first_instant_after_it(zone, day, hour, at):
    assert moment_of(day, hour, zone) == at


def test_an_hour_that_comes_twice_is_its_first_coming():
    assert moment_of(date(2026, 11, 1), 1, NEW_YORK) == utc(2026, 11, 1, 5)


def test_the_morning_of_a_day_without_its_last_hour_is_an_hour_before():
    # 23:00 of the 28th becomes 0:00 of the 29th
    assert morning_of(date(2026, 3, 28), 23, NUUK) == utc(2026, 3, 29, 0)
    assert morning_of(date(2026, 3, 29), 23, NUUK) == utc(2026, 3, 30, 0)
    assert morning_of(date(2026, 3, 28), 6, NUUK) == utc(2026, 3, 28, 8)


def test_a_day_whose_last_hour_comes_twice_ends_with_the_second():
    # 0:00 of the 25th becomes 23:00 of the 24th
    assert end_of(date(2026, 10, 24), NUUK) == utc(2026, 10, 25, 1, 59, 59, 999999)
    assert end_of(date(2026, 10, 23), NUUK) == utc(2026, 10, 24, 0, 59, 59, 999999)
