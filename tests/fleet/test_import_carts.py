"""Lists of carts brought in by the command: what is new, changed, wrong, and done once."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from fleet.actions import register
from fleet.models import Cart, MeterFitted, Reading
from shared.models import Change, Entry
from tests.factories import MORNING
from tests.fleet.importing_ways import bring
from tests.fleet.sheet_samples import csv_bytes, messy_workbook
from tests.lift_factories import a_cart, a_site

pytestmark = [pytest.mark.django_db, pytest.mark.both]


@pytest.fixture
def place():
    return a_site()


@pytest.fixture
def site(place):
    return place[0]


@pytest.fixture
def manager(place):
    return place[1]


HEADINGS = ["Cart", "Serial", "Seats", "Use", "Tire size", "Hours", "Miles", "Joined"]


def carts_file(*rows):
    return csv_bytes([HEADINGS, *rows])


def test_a_new_cart_joins_with_all_that_its_row_says(tmp_path, site):
    said = bring(
        tmp_path,
        carts_file(["12", "S-9", 4, "shuttle", "22x11-10", "412.5", "1,850.0", "3/1/2025"]),
    )

    cart = Cart.objects.get(site=site)
    assert said.splitlines()[-1] == "Brought in."
    assert (cart.number, cart.serial, cart.seats) == ("12", "S-9", 4)
    assert (cart.use_class, cart.tyre, cart.tyre_mm) == ("shuttle", "22x11-10", Decimal("558.8"))
    assert (cart.hours_shown, cart.distance_shown, cart.distance_unit) == (412.5, 1850, "mi")
    assert cart.joined_on == date(2025, 3, 1)
    assert [span.from_day for span in cart.numbers.all()] == [date(2025, 3, 1)]


def test_the_same_file_again_changes_nothing(tmp_path, site):
    content = carts_file(["12", "S-9", 4, "shuttle", "22x11-10", "412.5", "1,850.0", "3/1/2025"])
    bring(tmp_path, content)
    entries = Entry.objects.count()

    said = bring(tmp_path, content)

    assert said.splitlines()[-1] == "This file changes nothing."
    assert Entry.objects.count() == entries


def test_a_dry_run_says_the_same_and_writes_nothing(tmp_path, site):
    content = carts_file(["12", "", "", "", "", "", "", ""])
    entries = Entry.objects.count()

    said = bring(tmp_path, content, "--dry-run")

    assert "Line 2, cart 12: new cart" in said.splitlines()
    assert said.splitlines()[-1] == "Nothing was written: this was a trial."
    assert Entry.objects.count() == entries


def test_a_known_cart_changes_only_where_the_sheet_differs(tmp_path, site, manager):
    cart = a_cart(site, manager, "12", serial="S-9", seats=4, bay="A1")

    said = bring(tmp_path, csv_bytes([["Cart", "Serial", "Seats", "Bay"], ["12", "s-9", 4, "B2"]]))

    assert "Line 2, cart 12: Serial: S-9 → s-9; Bay: A1 → B2" in said.splitlines()
    cart.refresh_from_db()
    assert (cart.bay, cart.seats) == ("B2", 4)
    change = Change.objects.get(cart_id=cart.pk, what="register")
    assert change.value == {"serial": "s-9", "bay": "B2"}


def test_blank_cells_change_nothing(tmp_path, site, manager):
    cart = a_cart(site, manager, "12", bay="A1")

    said = bring(tmp_path, csv_bytes([["Cart", "Bay"], ["12", ""]]))

    assert said.splitlines()[-1] == "This file changes nothing."
    cart.refresh_from_db()
    assert cart.bay == "A1"


def test_a_cart_is_known_by_its_serial_before_its_number(tmp_path, site, manager):
    one = a_cart(site, manager, "1", serial="S-1")
    two = a_cart(site, manager, "2", serial="S-2")

    bring(tmp_path, csv_bytes([["Cart", "Serial"], ["2", "S-1"], ["1", "S-2"]]))

    one.refresh_from_db()
    two.refresh_from_db()
    assert (one.number, two.number) == ("2", "1")


@pytest.mark.parametrize(
    ("rows", "fault"),
    [
        (
            [["5", "S-1"]],
            'Line 2, column "Cart": 5. Accepted: a number that no other cart carries.',
        ),
        (
            [["5", "S-8"]],
            'Line 2, column "Cart": 5. Accepted: a number that no other cart carries: '
            "the cart 5 has serial S-5.",
        ),
        (
            [["8", ""], ["8", ""]],
            'Line 3, column "Cart": 8. Accepted: a value that stands once in the sheet; '
            "line 2 has it too.",
        ),
        (
            [["6", "S-1"], ["1", ""]],
            'Line 3, column "Cart": 1. Accepted: another cart; '
            "line 2 is the same one by its serial.",
        ),
    ],
)
def test_a_number_that_is_another_carts_is_a_fault(tmp_path, site, manager, rows, fault):
    a_cart(site, manager, "1", serial="S-1")
    a_cart(site, manager, "5", serial="S-5")
    entries = Entry.objects.count()

    said = bring(tmp_path, csv_bytes([["Cart", "Serial"], *rows]))

    assert fault in said.splitlines()
    assert said.splitlines()[-1] == "ERROR Nothing was brought in: mend what is named above."
    assert Entry.objects.count() == entries


def test_a_cart_is_known_by_its_number_in_small_letters_too(tmp_path, site, manager):
    known = a_cart(site, manager, "A1")

    bring(tmp_path, csv_bytes([["Cart", "Seats"], ["a1", 6]]))

    assert [(cart.pk, cart.seats) for cart in Cart.objects.all()] == [(known.pk, 6)]


def test_one_wrong_row_keeps_all_rows_out(tmp_path, site):
    content = carts_file(["1", *[""] * 7], ["2", "", "4.5", *[""] * 5], ["3", *[""] * 7])

    said = bring(tmp_path, content)

    assert 'Line 3, column "Seats": 4.5. Accepted: a whole number from 1 to 20.' in said
    assert not Cart.objects.exists()


def test_another_tyre_height_calls_for_its_rechecks(tmp_path, site, manager):
    cart = a_cart(site, manager, "12", tyre="18 in", tyre_mm="457.200")

    bring(tmp_path, csv_bytes([["Cart", "Tire height"], ["12", "22 in"]]))

    cart.refresh_from_db()
    assert (cart.tyre, cart.tyre_mm) == ("22 in", Decimal("558.8"))
    assert Change.objects.get(cart_id=cart.pk, what="tyre size").value == {
        "tyre": "22 in",
        "tyre_mm": "558.800",
    }
    kinds = set(cart.rechecks.active().values_list("rule_code", flat=True))
    assert "tyre-size-lugs" in kinds


def test_a_tyre_height_filled_in_calls_for_nothing(tmp_path, site, manager):
    cart = a_cart(site, manager, "12")

    bring(tmp_path, csv_bytes([["Cart", "Tire height"], ["12", "22 in"]]))

    assert not cart.rechecks.exists()


def test_a_later_figure_is_a_reading_and_a_lower_one_a_fault(tmp_path, site):
    bring(tmp_path, csv_bytes([["Cart", "Hours"], ["12", "412.5"]]))

    higher = bring(tmp_path, csv_bytes([["Cart", "Hours"], ["12", "412.6"]]))
    older = bring(tmp_path, csv_bytes([["Cart", "Hours"], ["12", "412.5"]]))
    lower = bring(tmp_path, csv_bytes([["Cart", "Hours"], ["12", "300"]]))

    assert "Line 2, cart 12: Hours: 412.6" in higher.splitlines()
    assert older.splitlines()[-1] == "This file changes nothing."
    assert 'column "Hours": 300. Accepted: at least 412.6 h, shown on' in lower
    assert list(Reading.objects.values_list("hours_shown", flat=True)) == [412.5, Decimal("412.6")]


def test_a_meter_in_another_unit_or_on_a_wheel_is_told_as_such(tmp_path, site):
    head = ["Cart", "Odometer", "Wheel driven", "Tire height"]

    bring(tmp_path, csv_bytes([head, ["1", "2977 km", "", ""], ["2", "1850", "yes", "22 in"]]))

    metric, wheel = Cart.objects.order_by("number")
    assert (metric.distance_unit, metric.distance_shown, metric.metres_life) == (
        "km",
        2977,
        2977000,
    )
    meter = MeterFitted.objects.get(cart=wheel)
    assert (meter.unit, meter.wheel_driven, meter.set_for_mm) == ("mi", True, Decimal("558.8"))
    assert MeterFitted.objects.count() == 2


def test_a_cart_that_left_is_named_and_not_changed(tmp_path, site, manager):
    cart = a_cart(site, manager, "12", serial="S-9", bay="A1")
    register.leave(cart, by=manager, at=MORNING + timedelta(days=1))

    said = bring(tmp_path, csv_bytes([["Cart", "Serial", "Bay"], ["12", "S-9", "B2"]]))

    assert "Line 2: cart 12 left the fleet on 03/03/2026; it is not changed." in said.splitlines()
    assert said.splitlines()[-1] == "This file changes nothing."


WRONG = {
    3: [1004, "2025-03-02", 412.5, 1850, "35 7/8 kg", "x", "Electric"],
    20: ["", "2025-03-02", 412.5, 1850, "35 7/8 in", "x", "Electric"],
    77: [1078, "2025-03-02", "many", 1850, "35 7/8 in", "x", "Electric"],
    120: [1121, "2025-03-02", 412.5, "1,85O", "35 7/8 in", "x", "Electric"],
    199: [1200, "2025-03-02", 412.5, 1850, "35 7/8 in", "x", "steam"],
    250: [1250, "2025-03-02", 412.5, 1850, "35 7/8 in", "x", "Electric"],
    299: [1300, "2025-03-02", -4, 1850, "35 7/8 in", "x", "Electric"],
}


@pytest.mark.parametrize(("old", "new"), [("12", "14"), ("14", "12")])
def test_of_two_with_one_serial_a_sheet_means_the_one_in_the_fleet(
    tmp_path, site, manager, old, new
):
    gone = a_cart(site, manager, old, serial="S-9")
    register.leave(gone, by=manager, at=MORNING + timedelta(days=1))
    back = a_cart(site, manager, new, serial="S-9", at=MORNING + timedelta(days=2))

    bring(tmp_path, carts_file([new, "S-9", 6, "", "", "", "", ""]))

    assert dict(Cart.objects.values_list("pk", "seats")) == {gone.pk: None, back.pk: 6}


def test_a_messy_workbook_of_300_carts_has_its_7_wrong_rows_named(tmp_path, site):
    said = bring(tmp_path, messy_workbook(300, WRONG), "--dry-run", name="fleet.xlsx")

    lines = said.splitlines()
    assert [line for line in lines if " Accepted: " in line] == [
        'Line 8, column "Tire height": 35 7/8 kg. '
        "Accepted: a measure such as 22 in; without a unit it is in in.",
        'Line 25, column "Cart #": (empty). Accepted: a value in this column.',
        'Line 84, column "Hours": many. Accepted: hours such as 412.5 or 412.5 h.',
        'Line 129, column "Odometer": 1,85O. '
        "Accepted: a measure such as 1,850.0 mi; without a unit it is in mi.",
        'Line 210, column "drive": steam. '
        "Accepted: one of: electric, flooded, sealed, lithium, petrol.",
        'Line 265, column "Cart #": 1250. '
        "Accepted: a value that stands once in the sheet; line 262 has it too.",
        'Line 314, column "Hours": -4. Accepted: a figure from 0 to 100000000.',
    ]
    assert "Not read: Bay note, Lift date, LIFTED?, Bought from." in lines
    assert "293 new, 0 changed, 0 unchanged; 7 wrong, 0 in question" in lines


def test_a_messy_workbook_of_300_carts_comes_in_once_mended(tmp_path, site):
    content = messy_workbook(300)
    bring(tmp_path, content, name="fleet.xlsx")
    entries = Entry.objects.count()

    said = bring(tmp_path, content, name="fleet.xlsx")

    assert Cart.objects.count() == 300
    cart = Cart.objects.get(number="1150")
    assert (cart.tyre, cart.tyre_mm) == ("35 7/8 in", Decimal("911.225"))
    assert (cart.power, cart.hours_shown, cart.distance_shown) == ("electric", 412.5, 1850)
    assert said.splitlines()[-1] == "This file changes nothing."
    assert Entry.objects.count() == entries


@pytest.mark.parametrize("day", ["1/1/0001", "1/1/1900", "12/31/1949", "4/12/2030"])
def test_a_sheet_has_no_cart_join_on_a_day_that_cannot_be(tmp_path, site, day):
    said = bring(tmp_path, carts_file(["12", "", "", "rental", "", "", "", day]))

    assert f'Line 2, column "Joined": {day}. Accepted: a day' in said
    assert not Cart.objects.exists()
