from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from fleet.cart_days import common, days_by_state, days_of, merged


def march(first, last):
    return date(2026, 3, first), date(2026, 3, last)


def test_spans_that_touch_or_overlap_are_one():
    assert merged([march(9, 10), march(1, 3), march(4, 5), march(2, 3)]) == [
        march(1, 5),
        march(9, 10),
    ]


def test_span_that_ends_before_it_begins_holds_no_day():
    assert days_of([march(5, 4)]) == 0


def test_common_days_are_those_of_both():
    assert common([march(1, 10)], [march(8, 12), march(3, 4)]) == [march(3, 4), march(8, 10)]


def test_day_of_two_states_counts_for_the_graver():
    states = {
        "tagged": [march(10, 12)],
        "stopped": [march(11, 14)],
        "late": [march(9, 14), march(20, 31)],
    }

    counted = days_by_state([march(8, 21)], states, "on time")

    # tagged 10 11 12; stopped 13 14; late 9 20 21; the other 6 of the 14 days are left
    assert counted == {"tagged": 3, "stopped": 2, "late": 3, "on time": 6}


SPANS = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), max_size=6)


@given(within=SPANS, tagged=SPANS, late=SPANS)
def test_days_are_those_counted_one_by_one(within, tagged, late):
    first = date(2026, 1, 1)
    dated = [[(first + timedelta(a), first + timedelta(b)) for a, b in s] for s in (tagged, late)]
    inside = [(first + timedelta(a), first + timedelta(b)) for a, b in within]

    counted = days_by_state(inside, dict(zip(("tagged", "late"), dated, strict=True)), "none")

    days = [n for n in range(41) if held(within, n)]
    wanted = {"tagged": 0, "late": 0, "none": 0}
    for n in days:
        wanted["tagged" if held(tagged, n) else "late" if held(late, n) else "none"] += 1
    assert counted == wanted


def held(spans, n):
    return any(a <= n <= b for a, b in spans)
