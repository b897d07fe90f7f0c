"""What ends a cart's work, told more than a week late, acts from when it was told."""

from datetime import UTC, date, timedelta

import pytest

from fleet.actions import register
from lifts.actions import fit, remove_lift
from lifts.models import Fitting
from shared.facts import record
from shared.models import Change, new_id
from tests.fleet.bundle_tables import tables_of
from tests.fleet.bundling import Fleet, on
from tests.fleet.test_bundle_figures import counted, stopped_by_order, told
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db
BEGAN, TOLD = on(3, 2), on(3, 20)


@pytest.fixture
def fleet():
    return Fleet("harbour")


@pytest.fixture
def stopped(fleet):
    """A plain cart that had to stop on the 5th of March."""
    cart = fleet.cart("2")
    stopped_by_order(fleet, cart)
    return cart


@pytest.fixture
def lifted(fleet):
    """A cart whose first check was late from the 7th of March."""
    cart = fleet.cart("1")
    fit(cart, fleet.kit, by=fleet.mechanic, at=BEGAN)
    a_round(cart, by=fleet.mechanic, at=on(3, 2, 10))
    return cart


def ended(cart, rule):
    row = cart.rechecks.get(rule_code=rule)
    return row.ended, row.ended_at, row.ended_state


def leave(fleet, cart, done_at, told_at=TOLD):
    register.leave(cart, by=fleet.manager, at=told_at, done_at=done_at, reason="Sold")


def remove(fleet, cart, done_at, told_at=TOLD):
    fitting = Fitting.objects.get(cart=cart)
    return remove_lift(fitting, "Put back", by=fleet.manager, at=told_at, done_at=done_at)


@pytest.mark.parametrize(
    ("late", "acts", "state"),
    [(timedelta(days=7), on(3, 4), "due"), (timedelta(days=7, seconds=1), None, "stopped")],
)
def test_leaving_told_after_a_week_ends_work_when_it_was_told(fleet, stopped, late, acts, state):
    told_at = on(3, 4).astimezone(UTC) + late

    leave(fleet, stopped, on(3, 4), told_at)

    assert ended(stopped, "ordered") == ("void", acts or told_at, state)
    stopped.refresh_from_db()
    assert stopped.left_on == fleet.site.day(acts or told_at)
    assert stopped.condition == "left"


def test_leaving_that_was_brought_in_is_never_late(fleet, stopped):
    record(
        Change(
            id=new_id(),
            site=fleet.site,
            cart_id=stopped.pk,
            what="left",
            value={},
            by=fleet.manager,
            done_at=on(3, 4),
            brought_in=True,
        ),
        at=TOLD,
    )
    register.change_cart(stopped, "bay", {"bay": "B"}, by=fleet.manager, at=TOLD)

    assert ended(stopped, "ordered") == ("void", on(3, 4), "due")


def test_cart_days_before_a_late_leaving_stay(fleet, stopped):
    leave(fleet, stopped, on(3, 4))

    tables = tables_of(fleet.site, on(3, 22), from_day=date(2026, 3, 2))

    # on time the 2nd to the 4th, stopped from the 5th until the day before it was told
    days = {"tagged": 0, "stopped": 15, "late": 0, "leeway": 0, "on_time": 3}
    assert counted(tables, "cart_days", "all") == days
    assert told(tables, "carts_stopped_all") == "0"


def test_late_leaving_is_asked_for_on_a_day_between_and_has_not_acted(fleet, stopped):
    leave(fleet, stopped, on(3, 4))

    between = tables_of(fleet.site, on(3, 10), on(3, 22))

    assert between.row("late_list")["state"] == "stopped"
    register_row = between.row("register")
    assert (register_row["condition"], register_row["left_on"]) == ("in use", "")


def test_late_leaving_and_removal_are_listed_with_the_day_they_say(fleet, stopped, lifted):
    leave(fleet, stopped, on(3, 4))
    remove(fleet, lifted, on(3, 4))

    rows = tables_of(fleet.site, on(3, 22)).rows("late_written")

    said = {(row["kind"], row["done_at"][:10], row["over_a_week"]) for row in rows}
    assert said == {
        ("shared.change: left", "2026-03-04", "yes"),
        ("lifts.removal", "2026-03-04", "yes"),
    }


@pytest.mark.parametrize(
    ("late", "acts", "state"),
    [(timedelta(days=7), on(3, 4), "due"), (timedelta(days=7, seconds=1), None, "late")],
)
def test_removal_told_after_a_week_ends_work_when_it_was_told(fleet, lifted, late, acts, state):
    told_at = on(3, 4).astimezone(UTC) + late

    remove(fleet, lifted, on(3, 4), told_at)

    assert ended(lifted, "first-check") == ("void", acts or told_at, state)
    lifted.refresh_from_db()
    assert not lifted.is_lifted


def test_days_of_a_lift_before_a_late_removal_stay(fleet, lifted):
    remove(fleet, lifted, on(3, 4))

    after = tables_of(fleet.site, on(3, 22), from_day=date(2026, 3, 2))
    between = tables_of(fleet.site, on(3, 10), on(3, 22))

    assert told(after, "cart_days_lifted") == "18"
    assert counted(after, "cart_days", "lifted")["late"] == 13
    assert after.row("lift_chapters")["until_at"][:10] == "2026-03-04"
    assert between.row("late_list", work="First check")["state"] == "late"
    assert between.row("lift_chapters")["until_at"] == ""


def test_round_between_the_day_and_the_telling_of_a_removal_closed_its_work(fleet, lifted):
    row = a_round(lifted, by=fleet.mechanic, at=on(3, 9), parts=("joints", "brake", "label")).round

    remove(fleet, lifted, on(3, 4))

    recheck = lifted.rechecks.get(rule_code="first-check")
    assert (recheck.ended, recheck.ended_by) == ("closed", row.pk)
