"""The board for scripts: the same rows, on a day of choice too."""

import csv
import io
import json
from datetime import date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.core.management import CommandError, call_command

from fleet.actions import meters, tags
from lifts.actions import fit
from shared import clock
from tests.factories import CartFactory, RecheckFactory, SiteFactory
from tests.lift_factories import a_cart, a_kit, a_site
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db
NEW_YORK = ZoneInfo("America/New_York")
FITTED = datetime(2026, 3, 2, 9, 0, tzinfo=NEW_YORK)
MILES = Decimal("1609.344")


def told(*options):
    out = io.StringIO()
    call_command("whatsdue", *options, stdout=out)
    return out.getvalue()


def rows(*options):
    return json.loads(told("--format", "json", *options))


def then(day):
    """Options that ask for the end of a day, as it was known at its end."""
    return ["--happened-by", day, "--known-by", day]


@pytest.fixture
def at_noon(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: FITTED + timedelta(hours=3))


@pytest.fixture
def weeks_later(cart, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: FITTED + timedelta(days=30))


@pytest.fixture
def cart(at_noon):
    """Fitted and closed out on 2 March at 412.0 h and 1,850.0 mi."""
    site, manager = a_site(at=FITTED - timedelta(days=1))
    cart = a_cart(site, manager, at=FITTED - timedelta(hours=5))
    who = {"by": manager, "at": FITTED - timedelta(hours=4)}
    meters.fit_meter(cart, "hours", Decimal("412.0"), unit="h", **who)
    meters.fit_meter(cart, "distance", Decimal("1850.0"), unit="mi", **who)
    kit = a_kit(site, manager, at=FITTED - timedelta(hours=4))
    fit(cart, kit, by=manager, at=FITTED)
    a_round(cart, by=manager, at=FITTED + timedelta(hours=2))
    return cart


def dues(found):
    return {row["kind"]: (row["due_on"], row["at_hours"], row["at_distance"]) for row in found}


def test_whatsdue_has_the_days_and_figures_of_a_new_fitting(cart):
    found = dues(rows("--site", "harbour", *then("2026-03-02")))

    assert found["first-check"][1:] == ("417.0", "1875.0")
    assert found["settle-check"][1:] == ("437.0", "1950.0")
    assert found["label-check"] == ("2026-06-01", "", "")


def test_whatsdue_without_a_day_is_the_board_of_today(cart):
    assert rows("--site", "harbour") == rows("--site", "harbour", *then("2026-03-02"))


def test_whatsdue_on_a_day_knows_nothing_of_later(cart, weeks_later):
    manager = cart.site.memberships.get().person
    before = rows("--site", "harbour", *then("2026-03-09"))
    later = FITTED + timedelta(days=8)
    meters.add_reading(cart, hours=Decimal("422.0"), by=manager, at=later)
    a_round(cart, by=manager, at=later, parts=("joints", "brake", "label"))

    assert rows("--site", "harbour", *then("2026-03-09")) == before
    assert "first-check" in dues(before)
    assert "first-check" not in dues(rows("--site", "harbour", *then("2026-03-10")))


def test_whatsdue_on_a_day_leaves_out_what_was_written_later(cart, weeks_later):
    manager = cart.site.memberships.get().person
    late_written = {"done_at": FITTED + timedelta(hours=9), "at": FITTED + timedelta(days=4)}
    meters.add_reading(cart, hours=Decimal("422.0"), by=manager, **late_written)

    assert "stopped" not in {row["state"] for row in rows("--site", "harbour", *then("2026-03-04"))}
    assert "stopped" in {row["state"] for row in rows("--site", "harbour", *then("2026-03-06"))}


def test_whatsdue_before_the_fitting_is_empty(cart):
    assert rows("--site", "harbour", *then("2026-03-01")) == []


def test_whatsdue_says_that_a_cart_was_tagged_on_the_day(cart, weeks_later):
    manager = cart.site.memberships.get().person
    tags.tag_cart(cart, "slack", by=manager, at=FITTED + timedelta(days=1))

    told_tagged = [
        {row["tagged"] for row in rows("--site", "harbour", *then(day))}
        for day in ("2026-03-02", "2026-03-03")
    ]

    assert told_tagged == [{False}, {True}]


@pytest.fixture
def listed(at_noon):
    """Three rechecks, late, due and open, and one at another site."""
    site = SiteFactory(slug="north")
    today = date(2026, 3, 2)
    spans = {"1": (-9, -1), "2": (-1, 1), "3": (5, 9)}
    for number, (due, late) in spans.items():
        RecheckFactory(
            cart=CartFactory(site=site, number=number, bay="B1"),
            opens_on=today - timedelta(20),
            due_on=today + timedelta(due),
            late_on=today + timedelta(late),
            governs="days",
            minutes=30,
        )
    RecheckFactory(opens_on=today, due_on=today)


def test_whatsdue_prints_a_table(listed):
    assert told("--site", "north").splitlines() == [
        "state  cart  what         due_on      why          minutes  bay",
        "late   1     Joint round  2026-02-21  9 days past  30       B1",
        "due    2     Joint round  2026-03-01  1 day past   30       B1",
        "open   3     Joint round  2026-03-07  5 days left  30       B1",
    ]


def test_whatsdue_prints_csv(listed):
    found = list(csv.DictReader(io.StringIO(told("--site", "north", "--format", "csv"))))

    assert [(row["cart"], row["state"], row["late_on"]) for row in found] == [
        ("1", "late", "2026-03-01"),
        ("2", "due", "2026-03-03"),
        ("3", "open", "2026-03-11"),
    ]


def test_whatsdue_csv_runs_in_no_spreadsheet(at_noon):
    cart = CartFactory(site=SiteFactory(slug="north"), number="=1+1", bay="@B1")
    RecheckFactory(cart=cart, opens_on=date(2026, 2, 20), due_on=date(2026, 3, 2), governs="days")

    (row,) = csv.DictReader(io.StringIO(told("--site", "north", "--format", "csv")))

    assert (row["cart"], row["bay"]) == ("'=1+1", "'@B1")


def test_whatsdue_keeps_to_the_states_asked_for(listed):
    found = rows("--site", "north", "--state", "late", "--state", "open")

    assert [row["cart"] for row in found] == ["1", "3"]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--site", "south"], "There is no site south."),
        (
            ["--site", "north", "--happened-by", "2 March"],
            "--happened-by: 2 March is neither a day",
        ),
        (
            ["--site", "north", "--known-by", "2026-02-30"],
            "--known-by: 2026-02-30 is neither a day",
        ),
        (["--site", "north", "--happened-by", "2026-03-03"], "2026-03-03 is not over yet"),
        (["--site", "north", "--known-by", "2026-03-02T12:01"], "2026-03-02T12:01 is not over"),
    ],
)
def test_whatsdue_names_what_it_cannot_use(listed, options, said):
    with pytest.raises(CommandError, match=said):
        told(*options)
