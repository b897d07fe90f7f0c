"""What comes again: rounds, old fleets, lay-ups, other books and sites."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from fleet.history import (
    STARTED_AGAIN,
    BookFrom,
)
from fleet.layup import LayUp
from fleet.reach import Limits
from fleet.rulebook import Book, Rule, replace_rule
from tests.fleet.story import (
    BOOK,
    EVERYTHING,
    FIRST_CHECK,
    FITTED_ON,
    JOINTS,
    SETTLE_CHECK,
    Story,
    fitted,
    named,
    noon,
    only,
    rechecks,
    settled,
    standing,
)


def longer_label_book(**changed):
    (rule,) = [one for one in BOOK.rules if one.code == "label-check"]
    limits = replace(rule.every, days=120)
    at = noon(date(2026, 4, 1))
    return BookFrom(
        at, replace_rule(BOOK, replace(rule, every=limits), effective_from=at), **changed
    )


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


def test_schedule_runs_a_recurring_clock_from_any_recheck_of_its_kind():
    story = settled().happen("woken", date(2026, 7, 1))
    story.round(date(2026, 7, 1), "520.0", did={"brake", "stop-run"})

    old, new = rechecks(story, "brake-check")

    assert (old.ended, old.void_reason) == ("void", STARTED_AGAIN)
    assert new.dates.due_on == date(2027, 7, 1)


def test_schedule_starts_a_clock_once_by_a_round_that_closes_two():
    story = Story().fit(date(2024, 5, 1)).happen("started-up", date(2026, 1, 5))
    story.happen("closed:label-check", date(2026, 1, 2)).round(date(2026, 1, 20), "910.0")

    told, closed_by_baseline = rechecks(story, "label-check")

    assert (told.ended, told.ended_by) == ("closed", named("round 2026-01-20"))
    assert closed_by_baseline.anchor_fact_id == named("round 2026-01-20")


LADDER = Rule(
    "ladder",
    "hub-play",
    ("wheel-off",),
    ladder=(Limits(10), Limits(40)),
    every=Limits(100),
    opens="at-once",
)


def test_schedule_climbs_a_ladder_from_one_start_and_then_recurs():
    story = Story(book=Book((LADDER,))).happen("wheel-off", date(2026, 3, 2))
    for day in (5, 15, 25):
        story.round(date(2026, 3, day), did={"hub-play"})

    steps = rechecks(story, "ladder")

    assert [(one.step, one.anchor_day.day, one.dates.due_on) for one in steps] == [
        (0, 2, date(2026, 3, 12)),
        (1, 2, date(2026, 4, 11)),
        (2, 15, date(2026, 6, 23)),
        (2, 25, date(2026, 7, 3)),
    ]


def test_schedule_gives_an_owner_one_yearly_visit():
    story = Story(use_class="owner").fit(FITTED_ON, "412.0").round(FITTED_ON, name="close-out")
    story.round(date(2026, 3, 4), "414.0", did=FIRST_CHECK)
    story.round(date(2026, 3, 28), "436.0", did=SETTLE_CHECK)
    story.round(date(2026, 5, 20), "500.0", did=JOINTS | {"camber-toe"})

    due = standing(story)

    assert list(due) == [("yearly-visit", "")]
    assert due["yearly-visit", ""].dates.stops_on is None


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


def test_schedule_keeps_planned_days_when_the_cart_comes_to_another_site():
    story = Story().fit(date(2024, 5, 1))
    story.happen("started-up", date(2026, 1, 5), due_by={"baseline": date(2026, 2, 20)})
    story.books.append(longer_label_book(arrival=True))

    assert standing(story)["start-baseline", ""].dates.due_on == date(2026, 2, 20)


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
