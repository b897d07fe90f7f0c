"""The list of lifts brought in: old ones start up anew, late and unproven ones are tagged."""

from collections import Counter
from datetime import date, timedelta
from decimal import Decimal

import pytest

from fleet import board, desk
from fleet.actions import project, register, sites
from fleet.models import Cart, Reading, Recheck, Tag
from lifts.actions import take_wheel_off
from lifts.models import Fitting
from shared import clock
from shared.models import Change, Entry
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.fleet.importing_ways import bring
from tests.fleet.sheet_samples import csv_bytes
from tests.lift_factories import a_cart, a_kit, a_site

pytestmark = [pytest.mark.django_db, pytest.mark.both]
DAY = timedelta(days=1)
TODAY = date(2026, 3, 16)
HEADINGS = ["Cart", "Kit", "Lift date", "Installed by", "Paperwork", "Hours at fitting"]


@pytest.fixture(autouse=True)
def now(monkeypatch):
    """It is the morning of a day two weeks after the site began."""
    monkeypatch.setattr(clock, "now", lambda: MORNING + 14 * DAY)


@pytest.fixture
def place():
    site, manager = a_site()
    a_kit(site, manager)
    return site, manager


@pytest.fixture
def site(place):
    return place[0]


@pytest.fixture
def manager(place):
    return place[1]


def bring_lifts(tmp_path, *rows, options=(), headings=HEADINGS):
    content = csv_bytes([headings, *rows])
    return bring(tmp_path, content, *options, sheet="fittings").splitlines()


def recheck_rules(cart):
    return dict(cart.rechecks.active().values_list("rule_code", "due_on"))


def test_an_old_lift_starts_up_anew(tmp_path, site, manager):
    cart = a_cart(site, manager, "12")

    said = bring_lifts(tmp_path, ["12", "trial kit", "3/2/2024", "Ana", "full", "120.5"])

    cart.refresh_from_db()
    site.refresh_from_db()
    fitting = Fitting.objects.get(cart=cart)
    assert said[-1] == "Brought in."
    assert (fitting.kit.code, fitting.fitted_by, fitting.brought_in) == ("trial-kit", "Ana", True)
    assert (cart.is_lifted, cart.is_unproven, cart.condition) == (True, False, "in use")
    assert (cart.unrecorded_before, site.start_day) == (TODAY, TODAY)
    assert recheck_rules(cart) == {
        "start-short-check": date(2026, 3, 30),
        "start-baseline": date(2026, 6, 14),
    }
    reading = Reading.objects.get(cart=cart)
    assert (reading.hours_shown, site.day(reading.done_at)) == (Decimal("120.5"), date(2024, 3, 2))


def test_120_old_lifts_are_spread_over_the_mechanics_and_stop_no_cart(tmp_path, site, manager):
    carts = [["Cart", "Use", "Hours"]]
    carts += [[f"{1 + n}", "rental" if n % 2 else "staff", 100 + n] for n in range(120)]
    bring(tmp_path, csv_bytes(carts))
    rows = [
        [f"{1 + n}", "trial-kit", f"{1 + n % 12}/{1 + n % 28}/2024", "", "", ""] for n in range(120)
    ]

    said = bring_lifts(tmp_path, *rows)

    assert said[-1] == "Brought in."
    assert Cart.objects.lifted().count() == 120
    assert set(Cart.objects.values_list("condition", flat=True)) == {"in use"}
    active = Recheck.objects.active()
    assert Counter(active.values_list("rule_code", flat=True)) == {
        "start-short-check": 120,
        "start-baseline": 120,
    }
    assert not active.exclude(stops_on=None).exists()
    short = active.filter(rule_code="start-short-check").order_by("due_on")
    baseline = active.filter(rule_code="start-baseline").order_by("due_on")
    assert short.first().due_on > TODAY
    assert short.last().due_on <= TODAY + 14 * DAY
    assert baseline.last().due_on <= TODAY + 90 * DAY
    a_day = Counter()
    for due_on, minutes in active.values_list("due_on", "minutes"):
        a_day[due_on] += minutes
    assert max(a_day.values()) <= site.mechanic_minutes_a_day
    last_rental = active.filter(cart__use_class="rental").order_by("due_on").last()
    first_staff = active.filter(cart__use_class="staff", kind_code="baseline").order_by("due_on")
    assert last_rental.due_on <= first_staff.first().due_on
    assert project.differences(Cart.objects.values_list("pk", flat=True)) == []


@pytest.mark.parametrize("days", [0, 30, 400])
def test_old_lifts_that_nobody_looks_at_never_stop_a_cart(tmp_path, site, manager, days):
    for number in ("1", "2", "3"):
        a_cart(site, manager, number, use_class="rental")
    bring_lifts(tmp_path, *([n, "trial-kit", f"{n}/2/2019", "", "full", ""] for n in "123"))
    at = MORNING + (14 + days) * DAY
    viewer = Viewer(manager, at)

    lines = desk.morning_list(viewer, site, site.day(at))
    counts = board.counts_of(viewer, site, site.day(at))

    assert [line.said.word for line in lines] == ["GO", "GO", "GO"]
    assert {"history before 03/16/2026 not recorded" in line.said.why for line in lines} == {True}
    assert (counts[board.STOPPED_IN_USE], counts[board.STOPPED_AT_REST]) == (0, 0)


def test_the_same_lifts_again_change_nothing(tmp_path, site, manager):
    a_cart(site, manager, "12")
    a_cart(site, manager, "13")
    rows = [["12", "trial-kit", "3/2/2024", "Ana", "full", "120.5"], ["13", "trial-kit", *[""] * 4]]
    bring_lifts(tmp_path, *rows)
    entries = Entry.objects.count()

    said = bring_lifts(tmp_path, *rows)

    assert said[-1] == "This file changes nothing."
    assert Entry.objects.count() == entries


def test_a_start_day_that_is_none_is_told_apart(tmp_path, site):
    [said] = bring_lifts(tmp_path, ["12"], options=["--start-day", "2026-02-30"])

    assert said.endswith("--start-day: must be a day like 2026-03-31, not 2026-02-30")


def test_a_start_day_lies_at_most_a_year_ahead(tmp_path, site, manager):
    a_cart(site, manager, "12")
    [said] = bring_lifts(tmp_path, ["12"], options=["--start-day", "2027-03-17"])
    sites.change_site(site, {"start_day": date(2099, 1, 1)}, by=manager, at=MORNING)
    [of_site] = bring_lifts(tmp_path, ["12"])

    assert "03/17/2027 is more than a year ahead" in said
    assert said.endswith("Give one up to 03/16/2027.")
    assert "01/01/2099 is more than a year ahead" in of_site


def test_a_lift_fitted_since_the_start_day_is_recorded_as_any_other(tmp_path, site, manager):
    cart = a_cart(site, manager, "12")

    said = bring_lifts(
        tmp_path,
        ["12", "trial-kit", "3/9/2026", "Ana", "full", ""],
        options=["--start-day", "2026-03-02"],
    )

    cart.refresh_from_db()
    fitted_words = "lift: trial-kit, fitted on 03/09/2026"
    assert (
        f"Line 2, cart 12: {fitted_words}; fitted since the start day: its close-out is due" in said
    )
    assert (cart.condition, cart.unrecorded_before) == ("on stands", None)
    assert recheck_rules(cart)["fitting-close-out"] == date(2026, 3, 9)


def test_a_hired_cart_whose_lift_comes_to_light_late_without_paperwork_is_tagged(
    tmp_path, site, manager
):
    hired = a_cart(site, manager, "1", use_class="rental")
    staff = a_cart(site, manager, "2", use_class="staff")
    old = a_cart(site, manager, "3", use_class="rental")
    sites.change_site(site, {"start_day": date(2026, 3, 2)}, by=manager, at=MORNING)

    bring_lifts(
        tmp_path,
        ["1", "trial-kit", "", "", "none", ""],
        ["2", "trial-kit", "", "", "none", ""],
        ["3", "trial-kit", "2/1/2026", "", "none", ""],
    )

    tagged = {tag.cart_id: tag.reason for tag in Tag.objects.all()}
    assert tagged == {hired.pk: "Lift found after the start day without paperwork"}
    marks = Cart.objects.order_by("number").values_list("is_tagged", "is_unproven")
    assert list(marks) == [(True, True), (False, True), (False, True)]
    assert staff.rechecks.active().count() == old.rechecks.active().count() == 2


def test_what_happened_since_the_start_day_still_counts(tmp_path, site, manager):
    cart = a_cart(site, manager, "12")
    sites.change_site(site, {"start_day": date(2026, 3, 2)}, by=manager, at=MORNING)
    take_wheel_off(cart, "left front", by=manager, at=MORNING + 13 * DAY)

    bring_lifts(tmp_path, ["12", "trial-kit", "3/2/2024", "", "full", ""])

    assert set(recheck_rules(cart)) == {"wheel-off", "start-short-check", "start-baseline"}


def test_an_earlier_lift_is_a_chapter_that_ended(tmp_path, site, manager):
    cart = a_cart(site, manager, "12")

    bring_lifts(
        tmp_path,
        ["12", "trial-kit", "3/2/2025", "", "full", ""],
        ["12", "trial-kit", "3/2/2023", "", "none", ""],
    )

    cart.refresh_from_db()
    assert Fitting.objects.filter(cart=cart).count() == 2
    assert cart.is_unproven is False
    assert cart.rechecks.count() == 2
    assert Change.objects.filter(cart_id=cart.pk, what="started up").count() == 1


def test_last_done_columns_are_told_and_close_nothing(tmp_path, site, manager, monkeypatch):
    cart = a_cart(site, manager, "12")
    headings = ["Cart", "Kit", "Fitted on", "Last torque check", "Last label check"]

    bring_lifts(tmp_path, ["12", "trial-kit", "3/2/2024", "3/1/2026", ""], headings=headings)
    monkeypatch.setattr(clock, "now", lambda: MORNING + 15 * DAY)
    said = bring_lifts(
        tmp_path, ["12", "trial-kit", "3/2/2024", "3/1/2026", "3/10/2026"], headings=headings
    )

    fitting = Fitting.objects.get(cart=cart)
    told = Change.objects.filter(cart_id=cart.pk, what="told").order_by("received_at")
    assert [change.value for change in told] == [
        {"last_torque": "2026-03-01", "fitting": str(fitting.pk)},
        {
            "last_torque": "2026-03-01",
            "last_label": "2026-03-10",
            "fitting": str(fitting.pk),
        },
    ]
    assert "Line 2, cart 12: Last label check: 2026-03-10" in said
    assert cart.rechecks.active().count() == 2


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        (
            ["99", "trial-kit", "3/2/2024", "", "", ""],
            'Line 2, column "Cart": 99. '
            "Accepted: a number that a cart carries or carried; bring the carts in first.",
        ),
        (
            ["12", "other", "3/2/2024", "", "", ""],
            'Line 2, column "Kit": other. '
            "Accepted: the code or name of a kit of the site: trial-kit.",
        ),
        (
            ["12", "trial-kit", "3/17/2026", "", "", ""],
            'Line 2, column "Lift date": 3/17/2026. Accepted: a day up to today.',
        ),
        (
            ["12", "trial-kit", "2/2/2024", "", "", "150"],
            'Line 2, column "Hours at fitting": 150. '
            "Accepted: at most 120.5 h, shown on 03/02/2024.",
        ),
        (
            ["12", "trial-kit", "3/2/2024", "Bo", "", ""],
            'Line 2, column "Installed by": Bo. Accepted: Ana, as recorded for that fitting.',
        ),
    ],
)
def test_a_wrong_row_is_named_and_nothing_comes_in(tmp_path, site, manager, row, fault):
    a_cart(site, manager, "12")
    bring_lifts(tmp_path, ["12", "trial-kit", "3/2/2024", "Ana", "full", "120.5"])
    entries = Entry.objects.count()

    said = bring_lifts(tmp_path, row)

    assert fault in said
    assert said[-1] == "ERROR Nothing was brought in: mend what is named above."
    assert Entry.objects.count() == entries


def test_a_cart_that_left_keeps_its_lift_as_history_alone(tmp_path, site, manager):
    cart = a_cart(site, manager, "12")
    register.leave(cart, by=manager, at=MORNING + 3 * DAY)

    bring_lifts(tmp_path, ["12", "trial-kit", "3/2/2024", "", "none", ""])

    assert Fitting.objects.filter(cart=cart).exists()
    assert not cart.rechecks.active().exists()
    assert not Tag.objects.exists()
