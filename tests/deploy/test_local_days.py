"""Days of a zone as its clock's moves make them; the moves are those of the IANA tz database."""

from datetime import UTC, date, datetime

from deploy.faults.local_days import LocalDays


def utc(*parts):
    return datetime(*parts, tzinfo=UTC)


def test_an_hour_left_out_and_one_that_comes_twice():
    new_york = LocalDays("America/New_York", date(2026, 1, 1), date(2026, 12, 31))

    assert new_york.moves == [utc(2026, 3, 8, 7), utc(2026, 11, 1, 6)]
    assert new_york.first_at(date(2026, 3, 8), 2) == utc(2026, 3, 8, 7)
    assert new_york.first_at(date(2026, 11, 1), 1) == utc(2026, 11, 1, 5)
    assert new_york.last_second_of(date(2026, 11, 1)) == utc(2026, 11, 2, 4, 59, 59)


def test_a_day_left_out_and_a_last_hour_left_out():
    apia = LocalDays("Pacific/Apia", date(2011, 12, 20), date(2012, 1, 5))
    nuuk = LocalDays("America/Nuuk", date(2026, 3, 1), date(2026, 4, 1))

    assert apia.first_at(date(2011, 12, 30), 0) is None
    assert apia.last_second_of(date(2011, 12, 29)) == utc(2011, 12, 30, 9, 59, 59)
    assert apia.first_at(date(2011, 12, 31), 0) == utc(2011, 12, 30, 10)
    assert nuuk.first_at(date(2026, 3, 28), 23) is None


def test_what_the_wall_clock_shows():
    lord_howe = LocalDays("Australia/Lord_Howe", date(2026, 4, 1), date(2026, 4, 30))

    assert lord_howe.wall_at(utc(2026, 4, 4, 14, 59)) == datetime(2026, 4, 5, 1, 59)
    assert lord_howe.wall_at(utc(2026, 4, 4, 15)) == datetime(2026, 4, 5, 1, 30)
    assert not lord_howe.is_near_a_move(date(2026, 4, 20))
