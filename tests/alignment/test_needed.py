"""Readings left out of a run change nothing of what is said of it."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.needed import needed
from fleet.gauge import Gauge, Seen
from fleet.usage import MeterStart, Shown, life_points

MORNING = datetime(2026, 3, 2, 8, tzinfo=UTC)
DAY = timedelta(days=1)


def read(day, hours, **about):
    usual = {"distance_shown": None, "hours_rolled": False, "source": "read"}
    return SimpleNamespace(done_at=MORNING + day * DAY, hours_shown=hours, **usual | about)


def test_of_readings_that_rise_the_ends_are_needed_and_those_beside_a_mark():
    readings = [read(day, day) for day in range(10)]

    left = needed(readings, [MORNING + 4.5 * DAY])

    assert [row.hours_shown for row in left] == [0, 4, 5, 9]


@pytest.mark.parametrize(
    "about",
    [{"source": "estimated"}, {"hours_rolled": True}, {"distance_shown": 7}, {"hours_shown": None}],
)
def test_what_is_no_plain_reading_stays_with_its_neighbours(about):
    readings = [read(day, day) for day in range(7)]
    vars(readings[3]).update(about)

    left = needed(readings, [])

    assert [row.done_at for row in left] == [MORNING + day * DAY for day in (0, 2, 3, 4, 6)]


def test_of_two_at_one_moment_both_stay_with_their_neighbours():
    readings = [read(day, day) for day in (0, 1, 2, 3, 3, 4, 5, 6)]

    left = needed(readings, [])

    assert [row.hours_shown for row in left] == [0, 2, 3, 3, 4, 6]


@pytest.mark.parametrize("count", [0, 1, 2])
def test_few_readings_all_stay(count):
    readings = [read(day, day) for day in range(count)]

    assert needed(readings, []) == readings


ROWS = st.lists(
    st.builds(
        lambda step, run, rolled, source: (step, run, rolled, source),
        st.integers(0, 2),
        st.sampled_from([1, 1, 1, 1, 0, -3]),
        st.sampled_from([False] * 9 + [True]),
        st.sampled_from(["read"] * 9 + ["estimated"]),
    ),
    max_size=30,
)


@given(ROWS, st.integers(0, 40), st.integers(0, 40), st.booleans())
def test_the_life_at_a_mark_and_at_the_end_stays(rows, mark, fitted, is_changed):
    day, hours, readings = 0, 20, []
    for step, run, rolled, source in rows:
        day, hours = day + step, max(hours + run, 0)
        readings.append(read(day, Decimal(hours), hours_rolled=rolled, source=source))
    at = MORNING + mark * DAY
    starts = [MeterStart(MORNING, Decimal(20), rolls_at=Decimal(60))]
    if is_changed:
        starts.append(MeterStart(MORNING + fitted * DAY, Decimal(3), old_final=Decimal(25)))

    whole = _said(starts, readings, at)
    left = _said(starts, needed(readings, [at, *(start.at for start in starts)]), at)

    assert left == whole


def _said(starts, readings, at):
    shown = [
        Shown(row.done_at, row.hours_shown, row.hours_rolled, row.source == "estimated")
        for row in readings
    ]
    gauge = Gauge(tuple(Seen(one.at.date(), one) for one in life_points(starts, shown)))
    life = gauge.life_by(at)
    reached = [gauge.first_at(life + run, since=at) is None for run in range(5)]
    guessed = [gauge.estimate_at(life + run, since=at) is None for run in range(5)]
    return life, gauge.last_since(at), reached, guessed
