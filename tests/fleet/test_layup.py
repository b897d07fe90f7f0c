from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.layup import (
    LayUp,
    LayUpLimits,
    after_running_days,
    awake_from,
    lay_up_void,
    run_at_rest,
)
from tests.fleet.story import days_after, miles, reading

MAY_1 = date(2026, 5, 1)
REST = LayUp(date(2026, 5, 10), date(2026, 5, 20))


@pytest.mark.parametrize(
    ("days", "day"),
    [(8, date(2026, 5, 9)), (9, date(2026, 5, 20)), (10, date(2026, 5, 21))],
)
def test_after_running_days_leaves_out_the_days_at_rest(days, day):
    assert after_running_days(MAY_1, days, [REST]) == day


def test_after_running_days_counts_from_the_day_itself_at_rest():
    assert after_running_days(date(2026, 5, 12), 0, [REST]) == date(2026, 5, 12)
    assert after_running_days(date(2026, 5, 12), 1, [REST]) == date(2026, 5, 20)


def test_after_running_days_takes_no_day_out_twice():
    inside = LayUp(date(2026, 5, 12), date(2026, 5, 15))

    assert after_running_days(MAY_1, 9, [inside, REST]) == date(2026, 5, 20)


def test_after_running_days_pauses_240_days_at_most():
    asleep = [LayUp(MAY_1)]

    assert after_running_days(MAY_1, 30, asleep) == MAY_1 + timedelta(days=30 + 239)


def test_after_running_days_holds_each_lay_up_to_its_own_limits():
    first = LayUp(date(2026, 5, 10), date(2026, 6, 10), LayUpLimits(longest_days=5))
    second = LayUp(date(2026, 6, 20), date(2026, 7, 20), LayUpLimits(longest_days=20))

    assert after_running_days(MAY_1, 60, [second, first]) == MAY_1 + timedelta(days=60 + 5 + 20)


@pytest.mark.parametrize("limits", [(-1,), (1, Decimal(-1)), (1, Decimal(1), Decimal(-1))])
def test_lay_up_limits_refuse_what_is_below_zero(limits):
    with pytest.raises(ValueError, match="-1"):
        LayUpLimits(*limits)


def test_after_running_days_refuses_days_below_zero():
    with pytest.raises(ValueError, match="-1"):
        after_running_days(MAY_1, -1, [])


@given(
    st.integers(0, 400),
    st.lists(st.tuples(st.integers(-50, 400), st.integers(0, 300)), max_size=4),
)
def test_after_running_days_agrees_with_counting_day_by_day(days, spans):
    rests = [LayUp(days_after(MAY_1, first), days_after(MAY_1, first + n)) for first, n in spans]
    paused = {days_after(MAY_1, first + day) for first, n in spans for day in range(min(n, 240))}
    day, left = MAY_1, days
    while left:
        day += timedelta(days=1)
        left -= day not in paused

    assert after_running_days(MAY_1, days, rests) == day


def test_awake_from_goes_on_through_lay_ups_that_touch():
    next_rest = LayUp(date(2026, 5, 20), date(2026, 6, 1))

    assert awake_from(date(2026, 5, 9), [next_rest, REST]) == date(2026, 5, 9)
    assert awake_from(date(2026, 5, 15), [next_rest, REST]) == date(2026, 6, 1)
    assert awake_from(date(2026, 5, 15), [REST, LayUp(date(2026, 5, 20))]) is None


def test_lay_up_refuses_to_end_before_it_begins():
    with pytest.raises(ValueError, match="2026-05-20"):
        LayUp(date(2026, 5, 20), date(2026, 5, 10))


@pytest.mark.parametrize(("hours", "void"), [("101.0", False), ("101.1", True)])
def test_lay_up_void_by_more_than_an_hour(hours, void):
    seen = [reading(date(2026, 5, 10), "100.0"), reading(date(2026, 5, 20), hours)]

    assert lay_up_void(REST, seen, []) is void


@pytest.mark.parametrize(("mi", "void"), [("503.0", False), ("503.1", True)])
def test_lay_up_void_by_more_than_three_miles(mi, void):
    seen = [reading(date(2026, 4, 30), miles(500)), reading(date(2026, 5, 12), miles(mi))]

    assert lay_up_void(REST, [], seen) is void


def test_lay_up_void_goes_by_the_limits_of_the_lay_up():
    seen = [reading(date(2026, 5, 10), "100.0"), reading(date(2026, 5, 20), "101.0")]
    by_distance = [reading(date(2026, 5, 10), miles(500)), reading(date(2026, 5, 20), miles(501))]

    for limits, void in [((240, Decimal("0.9")), True), ((240, Decimal(1)), False)]:
        assert lay_up_void(replace(REST, limits=LayUpLimits(*limits)), seen, []) is void
    for void_miles, void in [("0.9", True), ("1", False)]:
        limits = LayUpLimits(240, Decimal(1), miles(void_miles))
        assert lay_up_void(replace(REST, limits=limits), [], by_distance) is void


def test_lay_up_void_asks_nothing_of_use_before_after_or_estimated():
    seen = [
        reading(date(2026, 5, 2), "90.0"),
        reading(date(2026, 5, 9), "100.0"),
        reading(date(2026, 5, 15), "130.0", estimated=True),
        reading(date(2026, 5, 21), "120.0"),
    ]

    assert run_at_rest(REST, seen) == 0
    assert not lay_up_void(REST, seen, [])
