from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from fleet.due import state_on
from fleet.history import (
    LIFT_REMOVED,
    SETTLED_ENOUGH,
)
from fleet.schedule import schedule
from tests.fleet.story import (
    CONTENTS,
    FIRST_CHECK,
    FITTED_ON,
    SETTLE_CHECK,
    SHORT_CHECK,
    Story,
    fitted,
    miles,
    named,
    only,
    rechecks,
    slow,
    standing,
)


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

    assert state_on(open_fitting.dates, FITTED_ON) == "due"
    assert state_on(open_fitting.dates, FITTED_ON + timedelta(days=1)) == "stopped"
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


def test_schedule_of_a_cart_without_a_lift_is_empty():
    story = Story().read(FITTED_ON, 10, 20).round(FITTED_ON).happen("woken", FITTED_ON)

    assert schedule(story.history()) == ()


def test_schedule_names_a_kind_that_nobody_registered():
    with pytest.raises(ValueError, match="fitting-close-out"):
        schedule(fitted().history(contents={}))


def test_schedule_keeps_an_early_round_as_extra():
    story = fitted().round(date(2026, 3, 10), "420.0", did={"speed", "stop-run", "brake"})

    (speed,) = rechecks(story, "speed-run")

    assert (speed.ended, speed.dates.due_on) == (None, date(2027, 3, 2))


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


def test_schedule_needs_a_rule_book():
    with pytest.raises(ValueError, match="rule book"):
        schedule(Story().history(books=()))


def test_schedule_orders_rounds_in_the_repeated_hour_by_moment():
    early = datetime(2026, 11, 1, 5, 50, tzinfo=UTC)  # 01:50 EDT
    later = datetime(2026, 11, 1, 6, 10, tzinfo=UTC)  # 01:10 EST
    day = date(2026, 11, 1)
    story = Story().happen("wheel-off", date(2026, 10, 31), "left front")
    story.round(day, did={"lugs"}, name="second", at=later)
    story.round(day, did={"lugs"}, name="first", at=early)

    assert only(story, "wheel-off").ended_by == named("first")


def test_schedule_lets_the_earliest_round_close_whatever_the_order():
    story = fitted()
    story.round(date(2026, 3, 5), "415.0", did=FIRST_CHECK, name="later")
    story.round(date(2026, 3, 4), "414.0", did=FIRST_CHECK, name="sooner")

    assert only(story, "first-check").ended_by == named("sooner")


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


def test_schedule_ends_the_wait_before_a_later_round_is_judged():
    story = slow().read(date(2026, 4, 9), "424.5")
    story.round(date(2026, 4, 12), "425.0", did=SHORT_CHECK)

    short = only(story, "short-check-settling")

    assert (short.ended, short.ended_on) == ("void", date(2026, 4, 9))


def test_schedule_closes_the_short_check_by_the_round_whose_reading_settles():
    story = slow().round(date(2026, 4, 9), "424.5", did=SHORT_CHECK)

    short = rechecks(story, "short-check-settling")

    assert [(one.ended, one.ended_on) for one in short] == [("closed", date(2026, 4, 9))]


def test_schedule_ends_a_short_check_with_the_settle_check_that_it_stood_in_for():
    story = slow().round(date(2026, 4, 9), "424.5", did=SETTLE_CHECK)
    contents = {**CONTENTS, "short-check": SHORT_CHECK | {"pins"}}

    short = only(story, "short-check-settling", contents=contents)

    assert (short.ended, short.void_reason) == ("void", SETTLED_ENOUGH)
    assert short.ended_by == named("round 2026-04-09")


@pytest.mark.parametrize("hours", ["413.0", "424.5"])
def test_schedule_leaves_no_trace_of_a_short_check_that_was_never_called_for(hours):
    day = date(2026, 3, 10) if hours == "413.0" else date(2026, 3, 25)
    story = fitted().read(date(2026, 3, 9), hours).remove(day)

    assert rechecks(story, "short-check-settling") == []
    assert only(story, "settle-check").void_reason == LIFT_REMOVED


def test_schedule_asks_for_no_short_check_where_use_came_in_time():
    story = fitted().read(date(2026, 3, 20), "424.5").read(date(2026, 4, 1), "426.0")

    assert rechecks(story, "short-check-settling") == []
    assert only(story, "settle-check").dates.due_on == date(2026, 4, 1)


def test_schedule_counts_no_settle_check_before_half_its_use():
    early = fitted().round(date(2026, 3, 10), "424.4", did=SETTLE_CHECK)
    just = fitted().round(date(2026, 3, 10), "424.5", did=SETTLE_CHECK)

    assert only(early, "settle-check").ended is None
    assert only(just, "settle-check").ended == "closed"
