"""The figures of the bundle, against stories counted by hand."""

from collections import Counter
from datetime import date
from decimal import Decimal

import pytest

from fleet.actions import register
from fleet.actions.meters import add_reading
from fleet.actions.tags import hand_back, order_recheck, tag_cart
from fleet.bundle.work_figures import median_of
from lifts.actions import fit
from tests.fleet.bundle_tables import tables_of
from tests.fleet.bundling import Fleet, on
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db

STATES = ("tagged", "stopped", "late", "leeway", "on_time")


@pytest.fixture
def fleet():
    return Fleet("harbour")


def told(tables, code):
    return tables.row("figures", code=code)["value"]


def counted(tables, of, group):
    return {state: int(told(tables, f"{of}_{state}_{group}")) for state in STATES}


def stopped_by_order(fleet, cart):
    """Order tyres to be looked at by the 4th of March, the cart to stop on the 5th."""
    due_on = date(2026, 3, 4)
    about = {"reason": "Looks flat", "by": fleet.manager, "at": on(3, 1)}
    order_recheck(cart, "tyre-check", due_on, stops=True, **about)


def tell_march(fleet):
    """March 2 to 12: a lifted cart late and tagged, one stopped by order, one that left."""
    lifted, ordered, leaving = (fleet.cart(number) for number in ("1", "2", "3"))
    stopped_by_order(fleet, ordered)
    fit(lifted, fleet.kit, by=fleet.mechanic, at=on(3, 2))
    a_round(lifted, by=fleet.mechanic, at=on(3, 2, 10))
    register.leave(leaving, by=fleet.manager, at=on(3, 6))
    tag = tag_cart(lifted, "Pulls", by=fleet.mechanic, at=on(3, 8))
    a_round(lifted, at=on(3, 9), by=fleet.mechanic, parts=("joints", "brake", "label"))
    hand_back(tag, done="Looked at", repaired_by=None, by=fleet.manager, at=on(3, 10))


def test_cart_days_are_those_counted_by_hand(fleet):
    tell_march(fleet)

    tables = tables_of(fleet.site, on(3, 12), from_day=date(2026, 3, 2))

    # cart 1, unread: by the average of 30 km a day the first check (25 mi) falls due on the
    # 3rd, the settle check (100 mi) on the 7th; by calendar the first is late from the 7th
    # to the 9th, when it is done; tagged 8 to 10
    one = {"tagged": 3, "stopped": 0, "late": 1, "leeway": 3 + 2, "on_time": 2}
    assert counted(tables, "cart_days", "lifted") == one
    # cart 2: stops the 5th, for 8 days; cart 3 left on the 6th, after 4 days
    more = {"tagged": 0, "stopped": 8, "late": 0, "leeway": 0, "on_time": 3 + 4}
    assert counted(tables, "cart_days", "all") == {s: one[s] + more[s] for s in STATES}
    assert (told(tables, "cart_days_all"), told(tables, "cart_days_lifted")) == ("26", "11")


@pytest.mark.parametrize(
    ("day", "lifted", "plain"),
    [
        (on(3, 3), "on_time", "on_time"),
        (on(3, 4), "leeway", "on_time"),
        (on(3, 6, 8), "leeway", "stopped"),
        (on(3, 7), "late", "stopped"),
        (on(3, 8), "tagged", "stopped"),
        (on(3, 10), "leeway", "stopped"),
    ],
)
def test_snapshot_counts_each_cart_once_and_a_tagged_one_never_as_good(fleet, day, lifted, plain):
    tell_march(fleet)

    tables = tables_of(fleet.site, day)

    assert counted(tables, "carts", "lifted") == {s: int(s == lifted) for s in STATES}
    leaves = day < on(3, 6)
    of_all = {s: (s == lifted) + (s == plain) + (s == "on_time") * leaves for s in STATES}
    assert counted(tables, "carts", "all") == of_all
    assert told(tables, "carts") == str(2 + leaves)
    assert (told(tables, "carts_lifted"), told(tables, "carts_plain")) == ("1", str(1 + leaves))


def test_rechecks_closed_are_told_by_how_late_they_were(fleet):
    tell_march(fleet)

    tables = tables_of(fleet.site, on(3, 12))

    rows = [row for row in tables.rows("rechecks") if row["state"] == "closed"]
    late = [row["rule"] for row in rows if row["ended_at"][:10] > row["due_on"]]
    assert late == ["first-check"]
    assert [told(tables, f"closed_{one}") for one in ("leeway", "late", "stopped")] == [
        "0",
        "1",
        "0",
    ]
    assert told(tables, "closed_on_time") == str(len(rows) - 1)


def test_stop_that_was_run_through_is_breached_once_its_meter_rose(fleet):
    cart = fleet.cart("2")
    stopped_by_order(fleet, cart)
    for at, hours in ((on(3, 4), "400"), (on(3, 5), "401"), (on(3, 7), "403.5")):
        add_reading(cart, hours=Decimal(hours), by=fleet.mechanic, at=at)

    before, after = (tables_of(fleet.site, at) for at in (on(3, 5, 12), on(3, 7, 12)))

    assert [told(one, "stops_breached") for one in (before, after)] == ["0", "1"]
    assert [told(one, "stops_reached") for one in (before, after)] == ["1", "1"]
    (row,) = after.rows("stopped_moving")
    assert (row["cart"], row["stops_on"], row["more_hours"]) == ("2", "2026-03-05", "2.5")
    assert (row["read_before_at"], row["readings"]) == ("2026-03-05T09:00:00-05:00", "1")


def test_work_done_after_a_stop_ends_the_breach(fleet):
    cart = fleet.lifted("2", on(2, 28), hours="400")
    stopped_by_order(fleet, cart)
    a_round(cart, by=fleet.mechanic, at=on(3, 6), parts=("tyres",))
    add_reading(cart, hours=Decimal("404"), by=fleet.mechanic, at=on(3, 8))

    tables = tables_of(fleet.site, on(3, 9))

    ordered = tables.row("rechecks", rule="ordered")
    assert (ordered["state"], ordered["state_at_end"]) == ("closed", "stopped")
    assert tables.rows("stopped_moving") == []
    assert told(tables, "closed_stopped") == "1"


def test_tags_are_counted_with_the_median_of_their_days(fleet):
    carts = [fleet.cart(f"{number}") for number in range(4)]
    tags = [tag_cart(cart, "Rim", by=fleet.mechanic, at=on(3, 2)) for cart in carts]
    for tag, day in zip(tags, (3, 5, 9), strict=False):
        hand_back(tag, done="Rim", repaired_by=None, by=fleet.manager, at=on(3, day))

    tables = tables_of(fleet.site, on(3, 12))

    codes = ("tags_opened", "tags_closed", "tags_open", "tag_days_median")
    assert [told(tables, code) for code in codes] == ["4", "3", "1", "3"]


@pytest.mark.parametrize(
    ("days", "middle"), [([], None), ([4], 4), ([1, 2], Decimal("1.5")), ([9, 1, 3], 3)]
)
def test_median_is_the_middle_value(days, middle):
    assert median_of(Counter(days)) == middle


def test_each_figure_is_defined_and_names_a_table_that_is_there(fleet):
    fleet.tell_everything()

    tables = tables_of(fleet.site, on(3, 20))

    rows = tables.rows("figures")
    assert len({row["code"] for row in rows}) == len(rows)
    assert all(row["title"] and row["definition"] for row in rows)
    assert {row["table"] for row in rows} - {""} <= tables.files.keys()
    not_recorded = {row["code"] for row in rows if row["value"] == "not recorded"}
    assert not_recorded == {"carts_on_schedule"}
