from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from fleet.due import state_on
from fleet.history import (
    LEFT_FLEET,
    LIFT_REMOVED,
    ORDERED,
    SETTLED_ENOUGH,
    STARTED_AGAIN,
    BookFrom,
    Left,
    Order,
)
from fleet.layup import LayUp
from fleet.rulebook import replace_rule
from fleet.schedule import schedule
from tests.fleet.story import (
    BOOK,
    EVERYTHING,
    FIRST_CHECK,
    JOINTS,
    SETTLE_CHECK,
    SHORT_CHECK,
    Story,
    miles,
    named,
    noon,
)

FITTED_ON = date(2026, 3, 2)


def fitted() -> Story:
    """Cart 214 is fitted at 412.0 h, 1,850.0 mi, and its fitting closed that day."""
    return Story().fit(FITTED_ON, "412.0", "1850.0").round(FITTED_ON, name="close-out")


def rechecks(story, code, **changed):
    return [one for one in schedule(story.history(**changed)) if one.rule_code == code]


def only(story, code, **changed):
    (one,) = rechecks(story, code, **changed)
    return one


def standing(story, **changed):
    return {
        (one.rule_code, one.subject): one
        for one in schedule(story.history(**changed))
        if not one.ended
    }


@pytest.mark.parametrize(
    ("code", "hours", "mi", "day"),
    [
        ("first-check", "417.0", "1875.0", date(2026, 3, 5)),
        ("settle-check", "437.0", "1950.0", date(2026, 4, 1)),
        ("second-settle-check", "512.0", "2350.0", date(2026, 5, 31)),
    ],
)
def test_schedule_dates_the_checks_after_a_fitting(code, hours, mi, day):
    dates = only(fitted(), code).dates

    assert dates.due_hours == Decimal(hours)
    assert dates.due_metres == miles(mi)
    assert dates.calendar_due_on == day


def test_schedule_closes_the_fitting_by_the_round_of_its_day():
    closed = only(fitted(), "fitting-close-out")

    assert (closed.ended, closed.ended_by) == ("closed", named("close-out"))


def test_schedule_stops_a_cart_whose_fitting_is_not_closed():
    story = Story().fit(FITTED_ON, "412.0", "1850.0")

    open_fitting = only(story, "fitting-close-out")

    assert state_on(open_fitting.dates, FITTED_ON) == "stopped"
    assert [one.rule_code for one in schedule(story.history())] == ["fitting-close-out"]


def test_schedule_stops_at_422_hours_with_the_first_check_open():
    story = fitted().read(date(2026, 3, 4), "422.0")

    first = only(story, "first-check")

    assert state_on(first.dates, date(2026, 3, 4)) == "stopped"
    assert state_on(first.dates, date(2026, 3, 3)) == "open"


def test_schedule_does_not_stop_the_first_check_by_calendar_without_use():
    story = fitted().read(date(2026, 3, 20), "412.9", "1854.0")

    first = only(story, "first-check")

    assert first.dates.stops_on is None
    assert state_on(first.dates, date(2026, 3, 30)) == "late"


def slow() -> Story:
    """Cart 309 runs 3 h in its first thirty days."""
    story = fitted().round(date(2026, 3, 5), "412.5", did=FIRST_CHECK)
    for day, hours in ((12, "413.0"), (22, "414.0")):
        story.read(date(2026, 3, day), hours)
    return story.read(date(2026, 4, 1), "415.0")


def test_schedule_brings_the_short_check_while_the_settle_check_waits():
    due = standing(slow())

    short = due["short-check-settling", ""].dates
    settle = due["settle-check", ""].dates
    assert short.due_on == date(2026, 4, 1)
    assert short.stops_on is None
    assert settle.due_on > date(2026, 4, 1)
    assert state_on(settle, date(2026, 4, 1)) == "ahead"
    assert (settle.late_on, settle.stops_on) == (None, None)


def test_schedule_asks_for_the_short_check_again_every_thirty_days():
    story = slow().round(date(2026, 4, 3), "415.2", did=SHORT_CHECK)

    first, again = rechecks(story, "short-check-settling")

    assert (first.ended, first.dates.due_on) == ("closed", date(2026, 4, 1))
    assert (again.ended, again.dates.due_on) == (None, date(2026, 5, 3))


def test_schedule_ends_the_short_check_by_the_reading_that_settles():
    story = slow().read(date(2026, 4, 9), "424.5")

    short = only(story, "short-check-settling")
    settle = only(story, "settle-check")

    assert (short.ended, short.void_reason) == ("void", SETTLED_ENOUGH)
    assert short.ended_on == settle.dates.due_on == settle.dates.opens_on == date(2026, 4, 9)
    assert settle.dates.late_on == date(2026, 4, 13)
    assert settle.dates.stops_on == date(2026, 4, 24)


def test_schedule_asks_for_no_short_check_where_use_came_in_time():
    story = fitted().read(date(2026, 3, 20), "424.5").read(date(2026, 4, 1), "426.0")

    assert rechecks(story, "short-check-settling") == []
    assert only(story, "settle-check").dates.due_on == date(2026, 4, 1)


def test_schedule_counts_no_settle_check_before_half_its_use():
    early = fitted().round(date(2026, 3, 10), "424.4", did=SETTLE_CHECK)
    just = fitted().round(date(2026, 3, 10), "424.5", did=SETTLE_CHECK)

    assert only(early, "settle-check").ended is None
    assert only(just, "settle-check").ended == "closed"


def test_schedule_gives_each_wheel_that_was_off_its_own_clock():
    story = fitted().read(date(2026, 4, 3), "440.0", "1960.0")
    before = standing(story)
    story.happen("wheel-off", date(2026, 4, 3), "left front")

    after = standing(story)

    lugs = after.pop(("wheel-off", "left front")).dates
    assert (lugs.due_hours, lugs.due_metres) == (Decimal("445.0"), miles("1985.0"))
    assert lugs.calendar_due_on == date(2026, 4, 6)
    assert after == before


def test_schedule_closes_one_wheel_by_its_own_lugs_or_by_all():
    story = fitted().read(date(2026, 4, 3), "440.0")
    for wheel in ("left front", "right rear"):
        story.happen("wheel-off", date(2026, 4, 3), wheel)
    story.round(date(2026, 4, 4), "441.0", did={"lugs:left front"})
    story.round(date(2026, 4, 5), "442.0", did={"lugs"})

    left, right = rechecks(story, "wheel-off")

    assert (left.ended_on, right.ended_on) == (date(2026, 4, 4), date(2026, 4, 5))


def test_schedule_takes_a_round_late_on_the_due_day_as_on_time():
    zone = ZoneInfo("America/New_York")
    at = datetime(2026, 3, 5, 23, 30, tzinfo=zone).astimezone(UTC)
    assert at.date() == date(2026, 3, 6)
    story = fitted().round(date(2026, 3, 5), "413.0", did=FIRST_CHECK, at=at)

    first = only(story, "first-check")

    assert (first.ended, first.state_at_end) == ("closed", "due")
    assert first.ended_on == first.dates.due_on


def test_schedule_orders_rounds_in_the_repeated_hour_by_moment():
    early = datetime(2026, 11, 1, 5, 50, tzinfo=UTC)  # 01:50 EDT
    later = datetime(2026, 11, 1, 6, 10, tzinfo=UTC)  # 01:10 EST
    day = date(2026, 11, 1)
    story = Story().happen("wheel-off", date(2026, 10, 31), "left front")
    story.round(day, did={"lugs"}, name="second", at=later)
    story.round(day, did={"lugs"}, name="first", at=early)

    assert only(story, "wheel-off").ended_by == named("first")


def test_schedule_of_a_cart_without_a_lift_is_empty():
    story = Story().read(FITTED_ON, 10, 20).round(FITTED_ON).happen("woken", FITTED_ON)

    assert schedule(story.history()) == ()


def test_schedule_needs_a_rule_book():
    with pytest.raises(ValueError, match="rule book"):
        schedule(Story().history(books=()))


def test_schedule_names_a_kind_that_nobody_registered():
    with pytest.raises(ValueError, match="fitting-close-out"):
        schedule(fitted().history(contents={}))


def test_schedule_keeps_an_early_round_as_extra():
    story = fitted().round(date(2026, 3, 10), "420.0", did={"speed", "stop-run", "brake"})

    (speed,) = rechecks(story, "speed-run")

    assert (speed.ended, speed.dates.due_on) == (None, date(2027, 3, 2))


def test_schedule_lets_the_earliest_round_close_whatever_the_order():
    story = fitted()
    story.round(date(2026, 3, 5), "415.0", did=FIRST_CHECK, name="later")
    story.round(date(2026, 3, 4), "414.0", did=FIRST_CHECK, name="sooner")

    assert only(story, "first-check").ended_by == named("sooner")


def settled() -> Story:
    story = fitted().round(date(2026, 3, 4), "414.0", did=FIRST_CHECK)
    story.round(date(2026, 3, 28), "436.0", did=SETTLE_CHECK)
    return story.round(date(2026, 5, 20), "500.0", did=JOINTS | {"camber-toe"})


def test_schedule_starts_recurring_work_where_settling_ends():
    due = standing(settled())

    assert due["joint-round-hard-use", ""].anchor_day == date(2026, 5, 20)
    assert due["joint-round-hard-use", ""].dates.due_hours == Decimal("750.0")
    assert due["grease-round", ""].anchor_day == date(2026, 3, 28)
    assert due["camber-toe", ""].anchor_fact_id == named("round 2026-05-20")


def test_schedule_runs_a_recurring_clock_from_the_round_that_closed_it():
    story = settled().round(date(2026, 8, 15), "730.0", did=JOINTS)

    first, second = rechecks(story, "joint-round-hard-use")

    assert (first.ended, first.state_at_end) == ("closed", "open")
    assert second.anchor_day == date(2026, 8, 15)
    assert second.dates.due_hours == Decimal("980.0")


def test_schedule_hands_recurring_work_on_to_the_rule_of_a_new_use_class():
    story = settled().round(date(2026, 8, 15), "730.0", did=JOINTS)
    classes = ((noon(date(2020, 1, 1)), "rental"), (noon(date(2026, 7, 1)), "staff"))

    due = standing(story, use_classes=classes)

    assert ("joint-round-hard-use", "") not in due
    assert due["joint-round", ""].anchor_day == date(2026, 8, 15)
    assert due["joint-round", ""].dates.calendar_due_on == date(2027, 2, 13)


def test_schedule_gives_an_owner_one_yearly_visit():
    story = Story(use_class="owner").fit(FITTED_ON, "412.0").round(FITTED_ON, name="close-out")
    story.round(date(2026, 3, 4), "414.0", did=FIRST_CHECK)
    story.round(date(2026, 3, 28), "436.0", did=SETTLE_CHECK)
    story.round(date(2026, 5, 20), "500.0", did=JOINTS | {"camber-toe"})

    due = standing(story)

    assert list(due) == [("yearly-visit", "")]
    assert due["yearly-visit", ""].dates.stops_on is None


def test_schedule_voids_what_belongs_to_a_lift_that_was_removed():
    story = fitted().read(date(2026, 3, 3), "413.0")
    story.happen("wheel-off", date(2026, 3, 3), "left front").remove(date(2026, 3, 4))
    story.round(date(2026, 3, 5), "414.0", did=EVERYTHING - {"lugs"})

    everything = schedule(story.history())

    of_lift = [one for one in everything if one.chapter and one.ended != "closed"]
    assert {one.void_reason for one in of_lift} == {LIFT_REMOVED}
    assert {one.ended_by for one in of_lift} == {named("removal")}
    assert list(standing(story)) == [("wheel-off", "left front")]


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


def test_schedule_never_lets_a_round_close_what_it_found():
    story = fitted().round(date(2026, 3, 4), "414.0", did=FIRST_CHECK, name="finder")
    story.happen("lug-took-up", date(2026, 3, 4), "left rear", found_in=named("finder"))
    story.happen("u-bolt-took-up", date(2026, 3, 4), fact="finder")

    due = standing(story)

    assert due["lug-took-up", "left rear"].dates.calendar_due_on == date(2026, 3, 7)
    assert due["u-bolt-took-up", ""].dates.calendar_due_on == date(2026, 3, 18)


@pytest.mark.parametrize(("did", "count"), [({"camber-toe"}, 0), ({"label"}, 1)])
def test_schedule_asks_for_toe_at_once_unless_the_round_took_it(did, count):
    story = fitted().round(date(2026, 3, 9), "416.0", did=did, name="finder")
    story.happen("camber-turned", date(2026, 3, 9), fact="sheet", found_in=named("finder"))

    assert len(rechecks(story, "camber-turned")) == count
    assert only(story, "camber-turned-again").dates.due_hours == Decimal("441.0")


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


def test_schedule_closes_a_joint_not_reached_by_its_own_look():
    story = fitted().round(date(2026, 3, 28), "436.0", did=SETTLE_CHECK, name="settling")
    story.happen("not-reached", date(2026, 3, 28), "rack bolt", found_in=named("settling"))
    story.round(date(2026, 3, 30), "437.0", did={"joint:rack bolt"})

    assert only(story, "joint-not-reached").ended == "closed"


def test_schedule_of_an_old_lift_runs_no_clock_backwards():
    story = Story().fit(date(2024, 5, 1)).read(date(2026, 1, 4), "900.0", "4000.0")
    due_by = {"baseline": date(2026, 2, 20), "short-check": date(2026, 1, 9)}
    story.happen("started-up", date(2026, 1, 5), due_by=due_by)

    due = standing(story)

    assert due["start-baseline", ""].dates.due_on == date(2026, 2, 20)
    assert due["start-short-check", ""].dates.due_on == date(2026, 1, 9)
    assert len(due) == 2
    assert {one.dates.stops_on for one in due.values()} == {None}


def test_schedule_starts_recurring_work_from_a_baseline():
    story = Story().fit(date(2024, 5, 1)).happen("started-up", date(2026, 1, 5))
    story.round(date(2026, 1, 20), "910.0", did=EVERYTHING)

    due = standing(story)

    assert {code for code, _ in due} == {
        "joint-round-hard-use",
        "grease-round",
        "camber-toe",
        "label-check",
        "tyre-check-rental",
        "brake-check",
        "speed-run",
        "hub-play",
    }


def test_schedule_starts_recurring_work_from_told_work_of_its_kind():
    story = Story().fit(date(2024, 5, 1)).happen("started-up", date(2026, 1, 5))
    story.happen("closed:speed-run", date(2025, 6, 1)).happen("closed:speed-run", date(2025, 9, 1))

    assert standing(story)["speed-run", ""].dates.due_on == date(2026, 9, 1)


def test_schedule_asks_for_four_checks_on_the_day_of_waking():
    story = settled().happen("woken", date(2026, 7, 1))
    rest = (LayUp(date(2026, 6, 1), date(2026, 7, 1)),)

    due = standing(story, lay_ups=rest)

    woken = {code: one.dates for (code, _), one in due.items() if code.startswith("woken")}
    assert len(woken) == 4
    assert {one.stops_on for one in woken.values()} == {date(2026, 7, 1)}
    assert due["hub-play", ""].dates.due_on == date(2026, 10, 26)


def test_schedule_does_not_pause_for_a_lay_up_that_was_used():
    story = settled().read(date(2026, 6, 1), "510.0").read(date(2026, 6, 20), "511.5")
    rest = (LayUp(date(2026, 6, 1), date(2026, 7, 1)),)

    assert standing(story, lay_ups=rest)["hub-play", ""].dates.due_on == date(2026, 9, 26)


def test_schedule_takes_an_order_to_its_day():
    order = Order(
        named("order"),
        "u-bolt-repeat",
        "",
        noon(date(2026, 3, 10)),
        date(2026, 3, 10),
        date(2026, 3, 12),
        stops=True,
    )
    done = fitted().round(date(2026, 3, 11), did={"u-bolts"})

    waiting = only(fitted(), ORDERED, orders=(order,)).dates
    closed = only(done, ORDERED, orders=(order,))

    assert (waiting.opens_on, waiting.due_on) == (date(2026, 3, 10), date(2026, 3, 12))
    assert waiting.late_on == waiting.stops_on == date(2026, 3, 13)
    assert closed.ended == "closed"


def longer_label_book(**changed):
    (rule,) = [one for one in BOOK.rules if one.code == "label-check"]
    limits = replace(rule.every, days=120)
    at = noon(date(2026, 4, 1))
    return BookFrom(
        at, replace_rule(BOOK, replace(rule, every=limits), effective_from=at), **changed
    )


def test_schedule_keeps_a_clock_under_the_book_it_started_under():
    story = fitted()
    story.books.append(longer_label_book())

    assert only(story, "label-check").dates.due_on == date(2026, 6, 1)


def test_schedule_dates_again_when_the_cart_comes_to_another_site():
    story = fitted()
    story.books.append(longer_label_book(arrival=True))

    assert only(story, "label-check").dates.due_on == date(2026, 6, 30)


def test_schedule_starts_the_next_clock_under_the_book_then_in_force():
    story = fitted().round(date(2026, 4, 10), "430.0", did={"label"})
    story.books.append(longer_label_book())

    closed, after = rechecks(story, "label-check")

    assert closed.dates.due_on == date(2026, 6, 1)
    assert after.dates.due_on == date(2026, 8, 8)
