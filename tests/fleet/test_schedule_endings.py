"""How rechecks end: lifts removed, carts gone, clocks started again, orders, joints."""

from datetime import date
from decimal import Decimal

from fleet.history import (
    LEFT_FLEET,
    LIFT_REMOVED,
    ORDERED,
    STARTED_AGAIN,
    Left,
    Order,
)
from fleet.layup import LayUp
from fleet.schedule import schedule
from tests.fleet.story import (
    EVERYTHING,
    FIRST_CHECK,
    JOINTS,
    SETTLE_CHECK,
    Story,
    fitted,
    named,
    noon,
    only,
    rechecks,
    standing,
)


def test_schedule_voids_what_belongs_to_a_lift_that_was_removed():
    story = fitted().read(date(2026, 3, 3), "413.0")
    story.happen("wheel-off", date(2026, 3, 3), "left front").remove(date(2026, 3, 4))
    story.round(date(2026, 3, 5), "414.0", did=EVERYTHING - {"lugs"})

    everything = schedule(story.history())

    of_lift = [one for one in everything if one.chapter and one.ended != "closed"]
    assert {one.void_reason for one in of_lift} == {LIFT_REMOVED}
    assert {one.ended_by for one in of_lift} == {named("removal")}
    assert list(standing(story)) == [("wheel-off", "left front")]


def test_schedule_starts_nothing_of_a_lift_at_the_moment_of_its_removal():
    story = fitted().remove(date(2026, 3, 4)).happen("u-bolt-slack", date(2026, 3, 4))

    assert rechecks(story, "u-bolt-slack") == []


def test_schedule_starts_anew_for_a_new_lift():
    story = fitted().remove(date(2026, 3, 4)).fit(date(2026, 3, 4), "414.0", name="again")
    story.round(date(2026, 3, 4), "414.0", name="close-out again")

    old, new = rechecks(story, "first-check")

    assert (old.ended, old.chapter) == ("void", named("fitting"))
    assert (new.ended, new.chapter) == (None, named("again"))
    assert new.dates.due_hours == Decimal("419.0")


def test_schedule_ends_everything_when_the_cart_leaves():
    left = Left(named("left"), noon(date(2026, 3, 6)), date(2026, 3, 6))
    story = fitted().round(date(2026, 3, 7), "415.0", did=FIRST_CHECK)
    story.happen("wheel-off", date(2026, 3, 8), "left front")

    everything = schedule(story.history(left=left))

    assert {one.void_reason for one in everything if one.ended == "void"} == {LEFT_FLEET}
    assert [one.rule_code for one in everything if one.ended != "void"] == ["fitting-close-out"]


def test_schedule_starts_a_clock_again_by_a_later_event_of_its_name():
    story = Story().happen("wheel-off", date(2026, 4, 3), "left front")
    story.happen("wheel-off", date(2026, 4, 5), "left front")

    old, new = rechecks(story, "wheel-off")

    assert (old.ended, old.void_reason, old.ended_by) == (
        "void",
        STARTED_AGAIN,
        new.anchor_fact_id,
    )
    assert new.dates.calendar_due_on == date(2026, 4, 8)


def test_schedule_keeps_the_first_dates_of_what_is_found_again():
    story = fitted().happen("label-wanting", date(2026, 4, 3))
    story.happen("label-wanting", date(2026, 4, 4))

    (label,) = rechecks(story, "label-wanting")

    assert (label.ended, label.dates.calendar_due_on) == (None, date(2026, 4, 4))


def test_schedule_starts_anew_what_was_put_right_and_found_again():
    story = fitted().happen("label-wanting", date(2026, 4, 3))
    story.round(date(2026, 4, 3), "440.0", did={"label"}, name="replaced")
    story.happen("label-wanting", date(2026, 4, 6))

    first, second = rechecks(story, "label-wanting")

    assert (first.ended, first.ended_by) == ("closed", named("replaced"))
    assert second.dates.calendar_due_on == date(2026, 4, 7)


def test_schedule_keeps_the_dates_of_the_recheck_that_missed_a_joint():
    story = fitted().round(date(2026, 3, 28), "436.0", did=SETTLE_CHECK, name="settling")
    story.happen("not-reached", date(2026, 3, 28), "rack bolt", found_in=named("settling"))
    story.read(date(2026, 4, 2), "452.0")

    settle = only(story, "settle-check")
    look = only(story, "joint-not-reached")

    assert settle.ended == "closed"
    assert look.dates.due_hours == settle.dates.due_hours
    assert look.dates.calendar_due_on == settle.dates.calendar_due_on
    assert look.dates.stops_on == date(2026, 4, 2)


def test_schedule_keeps_the_first_clock_of_a_joint_missed_twice():
    story = fitted().round(date(2026, 3, 28), "436.0", did=SETTLE_CHECK, name="settling")
    story.round(date(2026, 5, 20), "500.0", did=JOINTS | {"camber-toe"}, name="second")
    for day, name in ((date(2026, 3, 28), "settling"), (date(2026, 5, 20), "second")):
        story.happen("not-reached", day, "rack bolt", found_in=named(name))

    look = only(story, "joint-not-reached")

    assert look.dates.due_hours == Decimal("437.0")


def test_schedule_closes_a_joint_not_reached_by_its_own_look():
    story = fitted().round(date(2026, 3, 28), "436.0", did=SETTLE_CHECK, name="settling")
    story.happen("not-reached", date(2026, 3, 28), "rack bolt", found_in=named("settling"))
    story.round(date(2026, 3, 30), "437.0", did={"joint:rack bolt"})

    assert only(story, "joint-not-reached").ended == "closed"


ORDER = Order(
    named("order"),
    "u-bolt-repeat",
    "",
    noon(date(2026, 3, 10)),
    date(2026, 3, 10),
    date(2026, 3, 12),
    stops=True,
)


def test_schedule_takes_an_order_to_its_day():
    done = fitted().round(date(2026, 3, 11), did={"u-bolts"})

    waiting = only(fitted(), ORDERED, orders=(ORDER,)).dates
    closed = only(done, ORDERED, orders=(ORDER,))

    assert (waiting.opens_on, waiting.due_on) == (date(2026, 3, 10), date(2026, 3, 12))
    assert waiting.late_on == waiting.stops_on == date(2026, 3, 13)
    assert closed.ended == "closed"


def test_schedule_keeps_the_day_of_an_order_through_a_lay_up():
    rest = (LayUp(date(2026, 3, 11), date(2026, 3, 20)),)

    ordered = only(fitted(), ORDERED, orders=(ORDER,), lay_ups=rest).dates

    assert (ordered.due_on, ordered.late_on) == (date(2026, 3, 12), date(2026, 3, 20))


def test_schedule_voids_an_order_with_the_lift_that_it_was_for():
    story = fitted().remove(date(2026, 3, 11))

    assert only(story, ORDERED, orders=(ORDER,)).void_reason == LIFT_REMOVED
