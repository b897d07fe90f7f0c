"""What a wrench's life amounts to: edges by hand, and what holds for any life."""

from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.wrench_standing import (
    ABUSED,
    CALIBRATED,
    CHECK_FAILED,
    CHECK_LATE,
    CHECKED,
    DAY_PAST,
    DOUBTED,
    DROPPED,
    DUE,
    GOOD,
    LEFT_OUT,
    NEVER,
    PULLED,
    RETURNED,
    WITHDRAWN,
    Befell,
    life_of,
    state_of,
)

FIRST = date(2026, 1, 5)


def befell(what, day_number=0, **found):
    day = FIRST + timedelta(days=day_number)
    at = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    return Befell(what, UUID(int=day_number), at, day, at, **found)


def state_after(day_number, *story, pulls=0):
    return state_of(life_of(story), FIRST + timedelta(days=day_number), pulls)


def checks(upto):
    """A good check every 30 days."""
    return [befell(CHECKED, day) for day in range(30, upto, 30)]


def test_a_wrench_without_a_certificate_is_due():
    assert state_after(0) == (DUE, NEVER)
    assert state_after(0, befell(CHECKED)) == (DUE, NEVER)


@pytest.mark.parametrize(
    ("day", "pulls", "state"),
    [
        (0, 0, (GOOD, "")),
        (365, 4999, (GOOD, "")),
        (366, 0, (DUE, DAY_PAST)),
        (365, 5000, (DUE, PULLED)),
    ],
)
def test_a_certificate_holds_365_days_or_5000_pulls(day, pulls, state):
    assert state_after(day, befell(CALIBRATED), *checks(366), pulls=pulls) == state


@pytest.mark.parametrize(("day", "state"), [(44, (GOOD, "")), (45, (DUE, CHECK_LATE))])
def test_a_check_is_due_after_30_days_and_makes_the_wrench_due_14_days_later(day, state):
    assert state_after(day, befell(CALIBRATED)) == state
    assert state_after(day + 20, befell(CALIBRATED), befell(CHECKED, 20)) == state
    assert life_of([befell(CALIBRATED)]).check_due_on == FIRST + timedelta(days=30)


@pytest.mark.parametrize(("day", "state"), [(182, (GOOD, "")), (183, (DUE, DAY_PAST))])
def test_found_out_of_tolerance_halves_the_days(day, state):
    found_out = befell(CALIBRATED, found_out=True)

    assert state_after(day, found_out, *checks(183)) == state


@pytest.mark.parametrize(("pulls", "state"), [(2499, (GOOD, "")), (2500, (DUE, PULLED))])
def test_found_out_of_tolerance_halves_the_pulls(pulls, state):
    assert state_after(1, befell(CALIBRATED, found_out=True), pulls=pulls) == state


def test_found_out_twice_halves_twice_and_found_good_is_the_default_again():
    out = [befell(CALIBRATED, 0, found_out=True), befell(CALIBRATED, 100, found_out=True)]

    assert (life_of(out).interval_days, life_of(out).most_pulls) == (91, 1250)
    again = life_of([*out, befell(CALIBRATED, 150)])
    assert (again.interval_days, again.most_pulls) == (365, 5000)


@pytest.mark.parametrize(
    ("hurt", "why"),
    [
        (befell(DROPPED, 3), DROPPED),
        (befell(ABUSED, 3), ABUSED),
        (befell(CHECKED, 3, found_out=True), CHECK_FAILED),
    ],
)
def test_a_hurt_wrench_is_doubted_until_a_certificate_and_no_check_helps(hurt, why):
    story = [befell(CALIBRATED), hurt]

    assert state_after(3, *story) == (DOUBTED, why)
    assert state_after(5, *story, befell(CHECKED, 4)) == (DOUBTED, why)
    assert state_after(5, *story, befell(CALIBRATED, 4)) == (GOOD, "")


def test_found_out_and_left_good_is_no_doubt_but_left_out_is():
    assert state_after(1, befell(CALIBRATED, found_out=True)) == (GOOD, "")
    left_out = befell(CALIBRATED, found_out=True, left_out=True)
    assert state_after(1, left_out) == (DOUBTED, LEFT_OUT)


def test_the_first_of_several_doubts_is_the_one_named():
    life = life_of([befell(CALIBRATED), befell(ABUSED, 2), befell(DROPPED, 3)])

    assert (life.doubt.why, life.doubt.id) == (ABUSED, UUID(int=2))


def test_a_withdrawn_wrench_stays_out_through_a_certificate_and_comes_back_as_it_was():
    out = [befell(CALIBRATED), befell(DROPPED, 1), befell(WITHDRAWN, 2)]

    assert state_after(2, *out) == (WITHDRAWN, WITHDRAWN)
    assert state_after(4, *out, befell(CALIBRATED, 3)) == (WITHDRAWN, WITHDRAWN)
    assert state_after(4, *out, befell(RETURNED, 3)) == (DOUBTED, DROPPED)
    assert state_after(5, *out, befell(CALIBRATED, 3), befell(RETURNED, 4)) == (GOOD, "")


def test_last_good_is_the_last_good_check_before_the_doubt():
    story = [
        befell(CALIBRATED),
        befell(CHECKED, 20),
        befell(DROPPED, 25),
        befell(CHECKED, 30),
    ]

    assert life_of(story).last_good_at == befell(CHECKED, 20).at
    assert life_of(story[:1]).last_good_at == befell(CALIBRATED).at
    left_out = befell(CALIBRATED, 40, left_out=True)
    assert life_of([*story, left_out]).last_good_at == befell(CHECKED, 20).at
    assert life_of([*story, befell(CALIBRATED, 40)]).last_good_at == befell(CALIBRATED, 40).at


KINDS = [CALIBRATED, CHECKED, DROPPED, ABUSED, WITHDRAWN, RETURNED]
HURTS = {DROPPED, ABUSED}
stories = st.lists(
    st.tuples(st.sampled_from(KINDS), st.integers(0, 60), st.booleans(), st.booleans()),
    max_size=12,
).map(
    lambda drawn: [
        befell(what, day, found_out=found, left_out=left)
        for what, day, found, left in sorted(drawn, key=lambda one: one[1])
    ]
)


@given(stories, st.integers(0, 800), st.integers(0, 6000), st.integers(0, 400))
def test_more_days_and_pulls_never_make_a_wrench_good(story, day, pulls, more):
    before = state_after(day, *story, pulls=pulls)
    after = state_after(day + more, *story, pulls=pulls + more)

    assert before[0] == GOOD or after[0] == before[0]


@given(stories)
def test_a_good_wrench_was_not_hurt_since_a_good_calibration(story):
    if state_after(60, *story)[0] != GOOD:
        return
    last = max(n for n, one in enumerate(story) if one.what == CALIBRATED)

    assert not story[last].left_out
    since = story[last:]
    assert not HURTS & {one.what for one in since}
    assert not any(one.found_out for one in since if one.what == CHECKED)


@given(stories, st.integers(60, 90), st.integers(0, 6000))
def test_a_drop_is_never_survived(story, day, pulls):
    state, _why = state_after(day, *story, befell(DROPPED, 60), pulls=pulls)

    assert state in (DOUBTED, WITHDRAWN)


@given(stories)
def test_an_interval_is_a_half_of_the_default_so_often(story):
    life = life_of(story)

    assert life.interval_days in {365, 182, 91, 45, 22, 11, 5, 2, 1}
    assert 1 <= life.most_pulls <= 5000
