"""What holds for any history of a cart."""

import random
from datetime import date
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from fleet.history import Left
from fleet.schedule import schedule
from tests.fleet.story import (
    CONTENTS,
    EVERYTHING,
    FIRST_CHECK,
    JOINTS,
    SETTLE_CHECK,
    SHORT_CHECK,
    Story,
    days_after,
    named,
    noon,
)

BEGIN = date(2026, 3, 2)
WORK = [EVERYTHING, FIRST_CHECK, SETTLE_CHECK, SHORT_CHECK, JOINTS, frozenset({"label"})]
STEP = st.tuples(
    st.sampled_from(["round", "round", "read", "wheel-off", "remove", "fit", "woken", "camber"]),
    st.integers(0, 45),
    st.integers(0, 400),
    st.integers(0, len(WORK) - 1),
)


def told(steps) -> Story:
    """A cart's life: (what, days on, tenths of hours on, which work)."""
    story = Story().fit(BEGIN, "412.0", "1850.0").round(BEGIN, name="close-out")
    day, tenths = BEGIN, 4120
    for place, (what, later, more, work) in enumerate(steps):
        day, tenths = days_after(day, later), tenths + more
        hours = Decimal(tenths) / 10
        match what:
            case "round":
                story.round(day, hours, did=WORK[work], name=f"round {place}")
            case "read":
                story.read(day, hours)
            case "remove":
                remove(story, day)
            case "fit":
                remove(story, day)
                story.fit(day, hours, name=f"fitting {place}")
            case "camber":
                story.happen("camber-turned", day, fact=f"camber {place}")
            case _:
                story.happen(what, day, "left front", fact=f"{what} {place}")
    return story


def remove(story, day):
    if story.lifts and story.lifts[-1].until_at is None:
        story.remove(day)


@given(st.lists(STEP, max_size=12), st.randoms(use_true_random=False))
def test_schedule_is_the_same_in_whatever_order_facts_come(steps, chance: random.Random):
    story = told(steps)
    shuffled = {
        name: tuple(chance.sample(getattr(story, name), len(getattr(story, name))))
        for name in ("events", "rounds", "lifts", "hours", "metres")
    }

    assert schedule(story.history(**shuffled)) == schedule(story.history())


@given(st.lists(STEP, max_size=10), st.integers(1, 60), st.integers(0, 3000))
def test_schedule_of_what_has_closed_never_changes_by_later_readings(steps, later, more):
    story = told(steps)
    before = {one for one in schedule(story.history()) if one.ended == "closed"}
    last = max(one.day for one in story.hours)
    end = max([last, *(one.day for one in [*story.rounds, *story.events])])
    highest = max(one.point.life for one in story.hours)
    story.read(days_after(end, later), highest + Decimal(more) / 10)

    after = {one for one in schedule(story.history()) if one.ended == "closed"}

    assert after == before


@given(st.lists(STEP, max_size=12))
def test_schedule_names_every_recheck_once_and_has_one_active_by_rule_and_subject(steps):
    planned = schedule(told(steps).history())

    names = [(one.rule_code, one.subject, one.anchor_fact_id, one.step) for one in planned]
    active = [(one.rule_code, one.subject) for one in planned if not one.ended]
    assert len(set(names)) == len(names)
    assert len(set(active)) == len(active)


@given(st.lists(STEP, max_size=12))
def test_schedule_closes_only_by_a_round_that_did_the_work_and_came_late_enough(steps):
    story = told(steps)
    rounds = {one.fact_id: one for one in story.rounds}

    for one in schedule(story.history()):
        if one.ended == "closed":
            done = rounds[one.ended_by]
            wanted = {piece.partition(":")[0] for piece in CONTENTS[one.kind]}
            assert wanted <= done.atoms
            assert one.anchor_at <= done.at
            assert one.state_at_end != "ahead"


@given(st.lists(STEP, max_size=10))
def test_schedule_leaves_nothing_active_on_a_cart_that_left(steps):
    story = told(steps)
    moments = [one.at for one in [*story.rounds, *story.events]]
    day = days_after(max(moments).date(), 1)
    left = Left(named("left"), noon(day), day)

    planned = schedule(story.history(left=left))

    assert {one.ended for one in planned} <= {"closed", "void"}
    assert [one for one in planned if one.ended_at > left.at] == []


@given(st.lists(STEP, max_size=10))
def test_schedule_of_a_short_check_while_settling_never_stops_the_cart(steps):
    for one in schedule(told(steps).history()):
        if one.rule_code.startswith("short-check"):
            assert one.dates.stops_on is None
