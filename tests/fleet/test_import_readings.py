"""Meter readings brought in: each judged by its neighbours, once, on the cart of its day."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from fleet.actions import project, register
from fleet.actions.meters import add_reading, fit_meter
from fleet.models import Cart, Reading
from shared import clock
from shared.facts import strike
from shared.models import Entry
from tests.factories import MORNING
from tests.fleet.importing_ways import bring
from tests.fleet.sheet_samples import csv_bytes
from tests.lift_factories import a_cart, a_site

pytestmark = [pytest.mark.django_db, pytest.mark.both]
DAY = timedelta(days=1)
HEADINGS = ["Cart", "Date", "Hours", "Miles"]


@pytest.fixture(autouse=True)
def now(monkeypatch):
    """It is 30 days after the cart joined."""
    monkeypatch.setattr(clock, "now", lambda: MORNING + 30 * DAY)


@pytest.fixture
def place():
    return a_site()


@pytest.fixture
def site(place):
    return place[0]


@pytest.fixture
def manager(place):
    return place[1]


@pytest.fixture
def cart(site, manager):
    return a_cart(site, manager, "12")


def bring_readings(tmp_path, *rows, options=()):
    content = csv_bytes([HEADINGS, *rows])
    return bring(tmp_path, content, *options, sheet="readings").splitlines()


def test_readings_of_any_age_come_in_whatever_their_order(tmp_path, cart):
    said = bring_readings(
        tmp_path,
        ["12", "3/20/2026", "430.5", "1,900"],
        ["12", "2025-11-02 14:30", "400", ""],
        ["12", "3/6/2026", "412", "1850 mi"],
    )

    assert "Line 3, cart 12: 3 readings, 11/02/2025 to 03/20/2026" in said
    rows = Reading.objects.order_by("done_at")
    assert [(row.hours_shown, row.distance_shown, row.day_only) for row in rows] == [
        (400, None, False),
        (412, 1850, True),
        (Decimal("430.5"), 1900, True),
    ]
    assert rows[0].done_at == datetime(2025, 11, 2, 19, 30, tzinfo=UTC)
    assert {row.source for row in rows} == {"sheet"} and all(row.brought_in for row in rows)
    cart.refresh_from_db()
    assert (cart.hours_shown, cart.distance_shown) == (Decimal("430.5"), 1900)
    assert project.differences([cart.pk]) == []


def test_the_same_readings_again_change_nothing(tmp_path, cart, monkeypatch):
    # the last is of today: its moment is that of the import
    rows = [["12", "3/6/2026", "412", ""], ["12", "4/1/2026", "430", ""]]
    bring_readings(tmp_path, *rows)
    entries = Entry.objects.count()
    monkeypatch.setattr(clock, "now", lambda: MORNING + 30 * DAY + timedelta(hours=9))

    said = bring_readings(tmp_path, *rows)

    assert said[-1] == "This file changes nothing."
    assert Entry.objects.count() == entries


def test_a_reading_that_was_taken_back_does_not_come_back(tmp_path, cart, manager):
    bring_readings(tmp_path, ["12", "3/6/2026", "412", ""])
    strike(Reading.objects.get(), reason="wrong cart", by=manager, at=MORNING + 30 * DAY)

    said = bring_readings(tmp_path, ["12", "3/6/2026", "412", ""])

    assert "Line 2: that reading of cart 12 was taken back, and stays so." in said
    assert said[-1] == "This file changes nothing."


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        (
            ["12", "3/12/2026", "411", ""],
            'Line 2, column "Hours": 411. Accepted: at least 412 h, shown on 03/06/2026; '
            "a meter that was changed is recorded first.",
        ),
        (
            ["12", "3/5/2026", "413", ""],
            'Line 2, column "Hours": 413. Accepted: at most 412 h, shown on 03/06/2026.',
        ),
        (
            ["12", "3/7/2026", "500", ""],
            'Line 2, column "Hours": 500. Accepted: what can be run since 412 h on 03/06/2026, '
            "at most 24 h a day and 25 mph.",
        ),
        (
            ["12", "3/6/2026", "412.5", ""],
            'Line 2, column "Hours": 412.5. Accepted: 412, as recorded for that time; '
            "a wrong one is corrected on the cart's page.",
        ),
        (
            ["12", "4/2/2026", "430", ""],
            'Line 2, column "Date": 4/2/2026. Accepted: a day or moment that has come.',
        ),
        (
            ["12", "3/12/2026", "", ""],
            'Line 2, column "Hours": (empty). Accepted: hours, or a distance, or both.',
        ),
        (
            ["13", "3/12/2026", "430", ""],
            'Line 2, column "Cart": 13. '
            "Accepted: a number that a cart carries or carried; bring the carts in first.",
        ),
        (
            ["12", "3/12/2026", "-3", ""],
            'Line 2, column "Hours": -3. Accepted: a figure from 0 to 100000000.',
        ),
    ],
)
def test_a_wrong_reading_is_named_and_none_comes_in(tmp_path, cart, row, fault):
    bring_readings(tmp_path, ["12", "3/6/2026", "412", ""])
    entries = Entry.objects.count()

    said = bring_readings(tmp_path, row, ["12", "3/30/2026", "440", ""])

    assert fault in said
    assert said[-1] == "ERROR Nothing was brought in: mend what is named above."
    assert Entry.objects.count() == entries


def test_two_rows_of_one_day_must_agree(tmp_path, cart):
    said = bring_readings(
        tmp_path,
        ["12", "3/6/2026", "412", ""],
        ["12", "3/6/2026", "412.0", ""],
        ["12", "3/6/2026", "413", ""],
    )

    fault = "Accepted: one reading of a cart at one time; line 2 has another."
    assert f'Line 4, column "Hours": 413. {fault}' in said
    assert "1 new, 0 changed, 1 unchanged; 1 wrong, 0 in question" in said


def test_what_is_hardly_likely_waits_for_a_word(tmp_path, cart):
    rows = [["12", "3/6/2026", "412", ""], ["12", "3/8/2026", "442", ""]]

    asked = bring_readings(tmp_path, *rows)
    taken = bring_readings(tmp_path, *rows, options=["--accept-questioned"])

    assert (
        'Line 3, column "Hours": 442. Accepted: likely less than that since 412 h on 03/06/2026; '
        "or accept it as right." in asked
    )
    assert asked[-1] == "ERROR Nothing was brought in: mend what is named above."
    assert taken[-1] == "Brought in."
    assert list(Reading.objects.order_by("done_at").values_list("doubted", flat=True)) == [
        "",
        "questioned",
    ]


def test_a_meter_that_rolled_over_is_asked_about(tmp_path, cart, manager):
    fit_meter(cart, "hours", 9990, unit="h", rolls_at=10_000, by=manager, at=MORNING)
    rows = [["12", "3/6/2026", "9998.7", ""], ["12", "3/10/2026", "4.2", ""]]
    rows.append(["12", "3/11/2026", "5.0", ""])

    asked = bring_readings(tmp_path, *rows, options=["--dry-run"])
    bring_readings(tmp_path, *rows, options=["--accept-questioned"])

    assert [line for line in asked if "rolled over" in line] == [
        'Line 3, column "Hours": 4.2. Accepted: at least 9,998.7 h, shown on 03/06/2026; '
        "or accept that the meter rolled over since."
    ]
    cart.refresh_from_db()
    assert (cart.hours_shown, cart.hours_life) == (5, Decimal("10005"))


def test_a_distance_is_judged_by_the_hours_run(tmp_path, cart):
    bring_readings(tmp_path, ["12", "3/6/2026 08:00", "412", "1850"])

    slow = bring_readings(tmp_path, ["12", "3/7/2026 08:00", "413", "1950"])
    fine = bring_readings(tmp_path, ["12", "3/7/2026 08:00", "416", "1945"])

    assert any("1950. Accepted: likely less than that since 1,850 mi" in line for line in slow)
    assert fine[-1] == "Brought in."


def test_a_reading_goes_to_the_cart_that_carried_the_number_that_day(tmp_path, site, manager, cart):
    register.leave(cart, by=manager, at=MORNING + 10 * DAY)
    newer = register.join_cart(site, {"number": "12"}, by=manager, at=MORNING + 20 * DAY)

    bring_readings(tmp_path, ["12", "3/6/2026", "412", ""], ["12", "3/25/2026", "3", ""])
    gap = bring_readings(tmp_path, ["12", "3/16/2026", "413", ""])

    by_cart = dict(Reading.objects.values_list("cart_id", "hours_shown"))
    assert by_cart == {cart.pk: 412, newer.pk: 3}
    assert (
        'Line 2, column "Cart": 12. '
        "Accepted: a day on which a cart carried that number; none did before 03/22/2026." in gap
    )


def test_an_old_reading_before_one_from_a_round_keeps_the_life(tmp_path, cart, manager):
    add_reading(cart, hours=Decimal(450), by=manager, at=MORNING + 20 * DAY)

    bring_readings(tmp_path, ["12", "3/6/2026", "412", ""])

    cart.refresh_from_db()
    assert (cart.hours_shown, cart.hours_life) == (450, 450)


def test_a_kilometre_reading_is_kept_in_the_meters_unit(tmp_path, cart):
    bring_readings(tmp_path, ["12", "3/6/2026", "", "1609.344 km"])

    reading = Reading.objects.get()
    assert (reading.distance_shown, reading.typed) == (1000, "1609.344 km")


def test_many_carts_and_readings_cost_few_queries(
    tmp_path, site, manager, django_assert_max_num_queries
):
    for number in range(40, 43):
        a_cart(site, manager, str(number))
    days = [MORNING + n * DAY for n in range(20)]
    rows = [
        [str(number), day.date().isoformat(), 100 + n * 5, ""]
        for number in range(40, 43)
        for n, day in enumerate(days)
    ]

    with django_assert_max_num_queries(90):
        said = bring_readings(tmp_path, *rows)

    assert said[-2:] == ["60 new, 0 changed, 0 unchanged; 0 wrong, 0 in question", "Brought in."]
    assert set(Cart.objects.values_list("hours_shown", flat=True)) == {195}
