"""Work that is gathered over several rounds: the fitting close-out."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.clocks import gathered
from fleet.history import LIFT_REMOVED, Done, Order
from fleet.schedule import schedule
from tests.fleet.story import (
    CLOSE_OUT,
    CONTENTS,
    FITTED_ON,
    JOINTS,
    SETTLE_CHECK,
    Story,
    days_after,
    named,
    noon,
    only,
    rechecks,
)

NEXT_DAY, THIRD_DAY = FITTED_ON + timedelta(days=1), FITTED_ON + timedelta(days=2)
ON_THE_ROAD = frozenset({"speed", "stop-run", "drive"})


def on_stands() -> Story:
    return Story().fit(FITTED_ON, "412.0", "1850.0")


def close_out(story):
    return only(story, "fitting-close-out")


def test_a_fitting_closes_at_the_round_that_completes_it():
    story = on_stands().round(FITTED_ON, did=SETTLE_CHECK, name="afternoon")
    assert (close_out(story).ended, close_out(story).missing) == (None, ON_THE_ROAD)

    story.round(NEXT_DAY, did=ON_THE_ROAD, name="morning")

    closed = close_out(story)
    assert (closed.ended_by, closed.ended_on) == (named("morning"), NEXT_DAY)
    assert closed.missing == frozenset()
    assert only(story, "first-check").anchor_day == NEXT_DAY


def test_a_finding_of_a_later_round_takes_its_piece_out_again():
    story = on_stands().round(FITTED_ON, did=CLOSE_OUT - {"speed"})
    story.round(NEXT_DAY, did={"speed"}, held={"lugs", "lugs:left front"})
    assert (close_out(story).ended, close_out(story).missing) == (None, {"lugs"})

    story.round(THIRD_DAY, did={"lugs"})

    assert close_out(story).ended_on == THIRD_DAY


def test_what_was_done_before_the_fitting_is_not_gathered():
    story = Story().round(FITTED_ON - timedelta(days=1), "411.0", did=JOINTS)
    story.fit(FITTED_ON, "412.0").round(FITTED_ON, did=CLOSE_OUT - JOINTS)

    assert close_out(story).missing == JOINTS


def test_another_lift_begins_to_gather_anew():
    story = on_stands().round(FITTED_ON, did=SETTLE_CHECK)
    story.remove(NEXT_DAY).fit(THIRD_DAY, name="again").round(THIRD_DAY, did=ON_THE_ROAD)

    first, second = rechecks(story, "fitting-close-out")

    assert (first.ended, first.void_reason, first.missing) == ("void", LIFT_REMOVED, ON_THE_ROAD)
    assert (second.ended, second.missing) == (None, SETTLE_CHECK)


def test_other_kinds_want_their_whole_content_in_one_round():
    story = on_stands().round(FITTED_ON, did=CLOSE_OUT, name="close-out")
    story.round(NEXT_DAY, "413.0", did={"lugs", "u-bolts", "hub-nuts"})
    story.round(THIRD_DAY, "414.0", did={"brake", "label"})

    first = only(story, "first-check")

    assert (first.ended, first.missing) == (None, frozenset())


def test_a_close_out_that_the_manager_ordered_is_gathered_too():
    story = on_stands().round(FITTED_ON, did=CLOSE_OUT)
    order = Order(
        named("order"), "fitting-close-out", "", noon(NEXT_DAY), NEXT_DAY, due_on=THIRD_DAY
    )
    story.round(days_after(NEXT_DAY, 1), did=SETTLE_CHECK)
    story.round(days_after(NEXT_DAY, 2), did=ON_THE_ROAD)

    assert only(story, "ordered", orders=(order,)).ended_on == days_after(NEXT_DAY, 2)


@pytest.mark.parametrize(
    ("second_missed", "second_did", "sought"),
    [((), ON_THE_ROAD, ["drop beam"]), ((), ON_THE_ROAD | {"joint:drop beam"}, [])],
    ids=["never reached", "reached on day two"],
)
def test_a_joint_not_reached_on_day_one_is_looked_for_once_the_fitting_closes(
    second_missed, second_did, sought
):
    story = on_stands().round(FITTED_ON, did=SETTLE_CHECK, missed=["drop beam"])
    assert rechecks(story, "joint-not-reached") == []

    story.round(NEXT_DAY, did=second_did, missed=second_missed)

    found = rechecks(story, "joint-not-reached")
    assert [one.subject for one in found] == sought
    assert [one.dates.stops_on for one in found] == [
        close_out(story).dates.stops_on for _ in sought
    ]


def test_a_joint_missed_twice_is_looked_for_once():
    story = on_stands().round(FITTED_ON, did=SETTLE_CHECK, missed=["drop beam"])
    story.round(NEXT_DAY, did=ON_THE_ROAD, missed=["drop beam"], name="second")

    [sought] = rechecks(story, "joint-not-reached")

    assert (sought.ended, sought.anchor_day) == (None, FITTED_ON)


def test_work_done_too_early_to_count_is_not_gathered():
    story = on_stands().round(FITTED_ON, did=CLOSE_OUT)
    story.round(NEXT_DAY, "413.0", did=JOINTS)
    story.round(days_after(FITTED_ON, 20), "430.0", did=SETTLE_CHECK - JOINTS)

    settle = only(story, "settle-check", gathering=frozenset({"settle-check"}))

    assert (settle.ended, settle.missing) == (None, JOINTS)


def test_a_clock_that_a_finding_started_at_once_is_not_started_again_at_the_close():
    story = on_stands().round(FITTED_ON, did=SETTLE_CHECK, name="afternoon")
    found = {"fact": "afternoon lug", "found_in": named("afternoon")}
    story.happen("lug-took-up", FITTED_ON, "left front", **found)
    story.round(NEXT_DAY, did={"lugs:left front"}).round(THIRD_DAY, did=ON_THE_ROAD)

    assert [one.ended_on for one in rechecks(story, "lug-took-up")] == [NEXT_DAY]


def test_a_clock_that_a_later_event_started_again_stays_at_that_event():
    story = on_stands().round(FITTED_ON, did={"label"}, name="afternoon")
    found = {"fact": "camber turned", "found_in": named("afternoon")}
    story.happen("camber-turned", FITTED_ON, **found).happen("tie-rod-turned", NEXT_DAY)
    story.round(THIRD_DAY, did={"speed"})
    contents = CONTENTS | {"fitting-close-out": frozenset({"label", "speed"})}

    turned = rechecks(story, "camber-turned", contents=contents)

    assert only(story, "fitting-close-out", contents=contents).ended_on == THIRD_DAY
    assert [(one.anchor_day, one.ended) for one in turned] == [
        (FITTED_ON, "void"),
        (NEXT_DAY, None),
    ]


def test_a_joint_missed_before_work_of_one_round_is_none_of_that_work():
    story = on_stands().round(FITTED_ON, did=CLOSE_OUT)
    story.round(NEXT_DAY, "413.0", did={"lugs"}, missed=["drop beam"])
    story.round(days_after(FITTED_ON, 20), "430.0", did=SETTLE_CHECK)

    assert only(story, "settle-check").ended == "closed"
    assert rechecks(story, "joint-not-reached") == []


def test_gathered_keeps_a_wheel_that_a_later_round_left_out():
    wanted = frozenset({"lugs", "lugs:left front"})
    whole = Done(named("a"), noon(FITTED_ON), FITTED_ON, frozenset({"lugs"}))
    but_one = Done(
        named("b"), noon(FITTED_ON), FITTED_ON, frozenset({"lugs"}), frozenset({"lugs:left front"})
    )

    assert gathered(frozenset(), but_one, wanted) == {"lugs"}
    assert gathered(gathered(frozenset(), whole, wanted), but_one, wanted) == wanted


PIECES = st.frozensets(st.sampled_from(sorted(CLOSE_OUT)))
DAYS = st.lists(st.tuples(PIECES, PIECES), max_size=6)


def told(days) -> Story:
    """A fitting, then a round a day that did some pieces and held others."""
    story = on_stands()
    for place, (did, held) in enumerate(days):
        day = days_after(FITTED_ON, place)
        story.round(day, did=did - held, held=held, name=f"round {place}")
    return story


@given(DAYS)
def test_a_fitting_is_closed_by_the_first_round_after_which_each_piece_stands_done(days):
    have, completing = set(), []
    for place, (did, held) in enumerate(days):
        have = (have | did) - held
        completing += [named(f"round {place}")] if have == CLOSE_OUT else []

    found = close_out(told(days))

    assert found.ended_by == (completing[0] if completing else None)
    assert found.missing == (frozenset() if completing else CLOSE_OUT - have)


@given(DAYS, st.permutations(sorted(CLOSE_OUT)), st.integers(1, 8))
def test_a_fitting_done_in_parts_closes_as_one_done_at_once(days, order, parts):
    """Whatever came before, the same pieces in however many rounds close it on the last."""
    whole, split = told(days), told(days)
    begin = days_after(FITTED_ON, len(days))
    step = -(-len(order) // parts)
    shares = [order[at : at + step] for at in range(0, len(order), step)]
    end = days_after(begin, len(shares) - 1)
    whole.round(end, did=CLOSE_OUT, name="last")
    for place, share in enumerate(shares):
        is_last = place == len(shares) - 1
        story_day = days_after(begin, place)
        split.round(story_day, did=share, name="last" if is_last else f"share {place}")

    closed, at_once = close_out(split), close_out(whole)

    assert closed.ended == at_once.ended == "closed"
    assert closed.ended_at <= at_once.ended_at
    if not days:
        assert closed == at_once


@given(DAYS)
def test_what_is_missing_is_said_of_open_gathered_work_alone(days):
    for one in schedule(told(days).history()):
        if one.kind != "fitting-close-out" or one.ended:
            assert one.missing == frozenset()


def test_two_rounds_of_one_day_gather_by_the_clock():
    morning, evening = noon(FITTED_ON) + timedelta(hours=1), noon(FITTED_ON) + timedelta(hours=5)
    story = on_stands().round(FITTED_ON, did=ON_THE_ROAD, name="evening", at=evening)
    story.round(FITTED_ON, did=SETTLE_CHECK, name="morning", at=morning)

    assert close_out(story).ended_by == named("evening")
    assert close_out(story).ended_on == date(2026, 3, 2)
