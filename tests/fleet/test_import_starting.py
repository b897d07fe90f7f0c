"""The first days of old lifts, spread over open days and mechanic minutes."""

from collections import Counter
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.importing.starting import open_days, spread

MONDAY = date(2026, 3, 2)


def test_open_days_are_the_working_days_after_the_start_without_closures():
    days = open_days(MONDAY, 14, "12345", [["2026-03-05", "2026-03-10"]])

    assert [day.day for day in days] == [3, 4, 11, 12, 13, 16]


def test_a_shop_that_is_closed_all_the_time_is_taken_as_open():
    days = open_days(MONDAY, 3, "12345", [["2026-03-01", "2026-04-01"]])

    assert [day.day for day in days] == [3, 4, 5]


def test_a_single_piece_goes_to_the_last_day():
    days = open_days(MONDAY, 90, "12345", [])

    assert spread(1, 60, days, 300, {}) == [days[-1]]


def test_pieces_are_spread_evenly_over_the_whole_time():
    days = open_days(MONDAY, 12, "1234567", [])

    assert spread(4, 10, days, 300, {}) == [days[2], days[5], days[8], days[11]]


def test_a_full_day_sends_the_work_to_the_nearest_with_room_the_earlier_first():
    days = open_days(MONDAY, 3, "1234567", [])
    taken = {days[2]: 25}

    planned = spread(1, 10, days, 30, taken)

    assert planned == [days[1]]
    assert taken == {days[1]: 10, days[2]: 25}


def test_work_beyond_the_minutes_goes_to_the_emptiest_day_and_the_first_comes_first():
    days = open_days(MONDAY, 2, "1234567", [])

    assert spread(5, 10, days, 10, {}) == [days[0], days[0], days[1], days[1], days[1]]


def test_no_days_at_all_are_refused():
    with pytest.raises(ValueError, match="no day"):
        spread(1, 10, [], 10, {})


@given(
    count=st.integers(0, 200),
    minutes=st.integers(1, 200),
    within=st.integers(1, 90),
    minutes_a_day=st.integers(0, 500),
)
def test_every_piece_has_a_day_and_no_day_is_overfull_before_all_are_full(
    count, minutes, within, minutes_a_day
):
    days = open_days(MONDAY, within, "1234567", [])

    planned = spread(count, minutes, days, minutes_a_day, {})

    load = Counter(planned)
    assert len(planned) == count
    assert set(planned) <= {MONDAY + timedelta(days=n) for n in range(1, within + 1)}
    most = max(load.values(), default=0) * minutes
    fits = minutes_a_day // minutes * within >= count
    assert most <= minutes_a_day or not fits
    assert most <= max(minutes_a_day, minutes * -(-count // within))


@given(
    count=st.integers(1, 60),
    within=st.integers(1, 90),
    loads=st.dictionaries(st.integers(1, 90), st.integers(0, 500)),
)
def test_the_first_come_first_and_the_last_day_is_used(count, within, loads):
    days = open_days(MONDAY, within, "1234567", [])
    taken = {MONDAY + timedelta(days=n): load for n, load in loads.items()}

    planned = spread(count, 10, days, 400, taken)

    assert planned == sorted(planned)
    is_free = loads.get(within, 0) + 10 * count <= 400
    assert planned[-1] == days[-1] or not is_free
