"""The bundle tells what the meters ran while a cart was tagged or laid up."""

from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.actions import register
from fleet.actions.meters import add_reading
from fleet.actions.tags import hand_back, tag_cart
from fleet.models import Reading
from tests.fleet.bundle_tables import tables_of
from tests.fleet.bundling import Fleet, on

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    return Fleet("harbour")


@pytest.fixture
def cart(fleet):
    return fleet.cart("7")


def read(fleet, cart, at, **shown):
    add_reading(cart, at=at, by=fleet.mechanic, **{k: Decimal(v) for k, v in shown.items()})


def tagged_and_run(fleet, cart, drive_note=""):
    read(fleet, cart, on(3, 4), hours="400", distance="100")
    tag = tag_cart(cart, "Rim bent", by=fleet.mechanic, at=on(3, 5))
    read(fleet, cart, on(3, 6), hours="402.5", distance="110")
    back = {"done": "New rim", "repaired_by": None, "drive_note": drive_note}
    hand_back(tag, by=fleet.manager, at=on(3, 7), **back)
    read(fleet, cart, on(3, 9), hours="410", distance="150")
    return tag


def test_tag_during_which_a_meter_rose_is_listed(fleet, cart):
    tag = tagged_and_run(fleet, cart, "Twice round the yard")

    tables = tables_of(fleet.site, on(3, 12), with_names=True)

    row = tables.row("tagged_moving")
    assert (row["tag"], row["cart"], row["reason"]) == (str(tag.pk), "7", "Rim bent")
    assert (row["hours_before"], row["hours_after"], row["more_hours"]) == ("400", "402.5", "2.5")
    # ten miles of 1609.344 m, NIST SP 811
    assert (row["km_before"], row["more_km"]) == ("160.9344", "16.09344")
    assert (row["read_before_at"][:10], row["read_after_at"][:10]) == ("2026-03-04", "2026-03-06")
    assert row["read_by"].startswith(fleet.mechanic.name)
    assert (row["drive_noted"], row["drive_note"]) == ("yes", "Twice round the yard")
    assert tables.row("figures", code="tagged_moving")["value"] == "1"


def test_hand_back_without_a_word_of_a_drive_says_so(fleet, cart):
    tagged_and_run(fleet, cart)

    before, after = (tables_of(fleet.site, on(3, day, 10)) for day in (6, 7))

    assert [one.row("tagged_moving")["drive_noted"] for one in (before, after)] == ["", "no"]
    assert tables_of(fleet.site, on(3, 5, 10)).rows("tagged_moving") == []


def test_tag_under_which_nothing_ran_is_not_listed(fleet, cart):
    read(fleet, cart, on(3, 4), hours="400")
    tag = tag_cart(cart, "Rim bent", by=fleet.mechanic, at=on(3, 5))
    read(fleet, cart, on(3, 6), hours="400")
    guess = {"hours": Decimal(405), "source": Reading.Source.ESTIMATED}
    add_reading(cart, at=on(3, 6, 12), by=fleet.mechanic, **guess)
    hand_back(tag, done="New rim", repaired_by=None, by=fleet.manager, at=on(3, 7))
    read(fleet, cart, on(3, 9), hours="410")

    assert tables_of(fleet.site, on(3, 12)).rows("tagged_moving") == []


@pytest.mark.parametrize(("hours", "void"), [("401", "no"), ("401.5", "yes")])
def test_lay_up_tells_what_was_run_in_it(fleet, cart, hours, void):
    read(fleet, cart, on(3, 4), hours="400")
    register.lay_up(cart, by=fleet.manager, at=on(3, 5), reason="Winter")
    read(fleet, cart, on(3, 8), hours=hours)
    register.wake(cart, by=fleet.manager, at=on(3, 10))
    read(fleet, cart, on(3, 11), hours="420")

    tables = tables_of(fleet.site, on(3, 12))

    row = tables.row("lay_ups")
    assert (row["done_at"][:10], row["until_at"][:10]) == ("2026-03-05", "2026-03-10")
    assert (row["hours_before"], row["hours_after"], row["void"]) == ("400", hours, void)
    assert Decimal(row["more_hours"]) == Decimal(hours) - 400
    assert (row["more_km"], row["reason"]) == ("", "Winter")
    assert tables.row("figures", code="lay_ups")["value"] == "1"


def test_lay_up_told_late_counts_from_the_day_it_was_told(fleet, cart):
    register.lay_up(cart, by=fleet.manager, at=on(3, 20), done_at=on(3, 5))

    row = tables_of(fleet.site, on(3, 21)).row("lay_ups")
    between = tables_of(fleet.site, on(3, 10), on(3, 21))

    assert (row["done_at"][:10], row["told_at"][:10]) == ("2026-03-05", "2026-03-20")
    assert (row["counts_from"], row["until_at"], row["void"]) == ("2026-03-20", "", "no")
    assert (between.rows("lay_ups"), between.row("register")["condition"]) == ([], "in use")


def test_lay_up_is_told_as_it_was_known(fleet, cart):
    read(fleet, cart, on(3, 4), hours="400")
    register.lay_up(cart, by=fleet.manager, at=on(3, 5))
    before = tables_of(fleet.site, on(3, 7)).row("lay_ups")
    register.wake(cart, by=fleet.manager, at=on(3, 10))
    read(fleet, cart, on(3, 10) + timedelta(hours=1), hours="420")

    assert tables_of(fleet.site, on(3, 7)).row("lay_ups") == before
    assert before["until_at"] == ""
    assert tables_of(fleet.site, on(3, 12)).row("lay_ups")["void"] == "yes"
