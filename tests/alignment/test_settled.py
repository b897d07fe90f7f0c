from datetime import timedelta
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from alignment.known import Known
from alignment.settled import use_since_fitting
from fleet.actions import sites
from fleet.actions.meters import add_reading, fit_meter
from fleet.kinds import Cut
from fleet.standing import EVERYTHING
from lifts.actions import fit, remove_lift
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
UNKNOWN = "What it ran since the fitting is not known."
MILE_KM = Decimal("1.609344")


class Yard:
    """A lifted cart whose meters showed 412 h and 1850 mi at its fitting."""

    def __init__(self):
        self.site, self.manager = a_site()
        self.cart = a_cart(self.site, self.manager)
        self.kit = a_kit(self.site, self.manager)
        fit_meter(self.cart, "hours", Decimal(412), unit="h", **self.on(0))
        fit_meter(self.cart, "distance", Decimal(1850), unit="mi", **self.on(0))
        self.fitting = fit(self.cart, self.kit, **self.on(0))

    def on(self, days):
        return {"by": self.manager, "at": MORNING + days * DAY}

    def read(self, days, **shown):
        add_reading(self.cart, **shown, **self.on(days))

    def use(self, cut=EVERYTHING):
        return use_since_fitting(self.cart, cut)


@pytest.fixture
def yard():
    return Yard()


def test_use_is_what_both_meters_ran_since_the_fitting(yard):
    yard.read(2, hours=Decimal("415.5"), distance=Decimal(1870))

    found = yard.use()

    assert (found.hours, found.km) == (Decimal("3.5"), 20 * MILE_KM)
    assert (found.is_settled, found.is_estimated) == (False, False)


@pytest.mark.parametrize(
    ("shown", "is_settled"),
    [
        ({"hours": Decimal("424.4"), "distance": Decimal("1899.9")}, False),
        ({"hours": Decimal("424.5")}, True),
        ({"distance": Decimal(1900)}, True),
    ],
)
def test_settled_from_twelve_and_a_half_hours_or_fifty_miles_on(yard, shown, is_settled):
    yard.read(5, **shown)

    assert yard.use().is_settled is is_settled


def test_the_rule_book_in_force_at_the_fitting_says_from_when():
    yard = Yard()
    rules = yard.site.rule_books.get().rules
    for rule in rules["rules"]:
        if rule["code"] == "settle-check":
            rule |= {"opens": {"hours": "20", "metres": "200000"}, "source": "HX-4 sheet, page 9"}
    sites.change_rules(yard.site, rules, reason="As the maker says", **yard.on(1))
    yard.read(5, hours=Decimal(427))

    first = yard.use()
    fit(yard.cart, yard.kit, **yard.on(6))
    yard.read(8, hours=Decimal(442))
    second = yard.use()

    assert (first.hours, first.is_settled) == (15, True)
    assert (first.enough.hours, first.source) == (Decimal("12.5"), "common practice, no source")
    assert (second.hours, second.is_settled) == (15, False)
    assert (second.enough.hours, second.enough.metres) == (20, 200_000)
    assert second.source == "HX-4 sheet, page 9"


def test_without_a_rule_of_settling_the_usual_figures_hold(yard):
    rules = yard.site.rule_books.get().rules
    rules["rules"] = [rule for rule in rules["rules"] if not rule.get("settles")]
    sites.change_rules(yard.site, rules, reason="No settle checks", **yard.on(1))
    fit(yard.cart, yard.kit, **yard.on(2))
    yard.read(5, hours=Decimal("424.5"))

    found = yard.use()

    assert (found.enough.hours, found.enough.metres) == (Decimal("12.5"), Decimal("80467.2"))
    assert (found.is_settled, found.source) == (True, "common practice, no source")


def test_an_estimated_reading_settles_and_says_so(yard):
    yard.read(5, hours=Decimal(430), source="estimated")

    found = yard.use()

    assert (found.hours, found.is_settled, found.is_estimated) == (18, True, True)


def test_an_estimate_that_a_true_reading_follows_settles_nothing(yard):
    yard.read(5, hours=Decimal(430), source="estimated")
    yard.read(6, hours=Decimal(415))

    found = yard.use()

    assert (found.hours, found.is_settled, found.is_estimated) == (3, False, False)


def test_use_of_the_past_is_what_was_known_then(yard):
    yard.read(2, hours=Decimal(415))
    yard.read(5, hours=Decimal(430))

    at = MORNING + 3 * DAY

    assert (yard.use(Cut(at, at)).hours, yard.use(Cut(at, at)).is_settled) == (3, False)


def test_a_cart_without_a_lift_has_no_use_since_a_fitting(yard):
    yard.read(5, hours=Decimal(430))
    remove_lift(yard.fitting, "Sold", **yard.on(6))

    assert yard.use() is None


def test_a_cart_not_read_since_its_fitting_has_none(yard):
    fit(yard.cart, yard.kit, **yard.on(6))

    assert yard.use() is None


def test_a_meter_read_once_after_the_fitting_tells_of_no_use(yard):
    cart = a_cart(yard.site, yard.manager, "8")
    fit(cart, yard.kit, **yard.on(0))
    uses = []
    for days, shown in ((5, {"hours": 400}), (6, {"hours": 403}), (7, {"distance": 90})):
        add_reading(cart, **shown, **yard.on(days))
        uses.append(use_since_fitting(cart, EVERYTHING))

    known = Known(SimpleNamespace(cart=cart, site=yard.site, cut=EVERYTHING, corrects=None))

    assert uses[0] is None
    assert [(use.hours, use.km) for use in uses[1:]] == [(3, None), (3, None)]
    assert list(known.said()) == [
        "3.0 h since the fitting: not settled, measured as provisional.",
    ]


@pytest.mark.parametrize(("lifted", "said"), [(True, [UNKNOWN]), (False, [])])
def test_use_that_is_not_known_is_said_to_be_so_of_a_lift(yard, lifted, said):
    cart = a_cart(yard.site, yard.manager, "8")
    if lifted:
        fit(cart, yard.kit, **yard.on(0))
    add_reading(cart, hours=Decimal(400), **yard.on(5))

    known = Known(SimpleNamespace(cart=cart, site=yard.site, cut=EVERYTHING, corrects=None))

    assert list(known.said()) == said


def test_a_new_lift_settles_anew(yard):
    yard.read(5, hours=Decimal(430))
    fit(yard.cart, yard.kit, **yard.on(6))
    yard.read(8, hours=Decimal(431))

    assert (yard.use().hours, yard.use().is_settled) == (1, False)


def test_use_costs_the_same_however_many_readings(yard):
    counts = []
    for days in (1, 2, 3):
        yard.read(days, hours=Decimal(412 + days))
        with CaptureQueriesContext(connection) as asked:
            assert yard.use().hours == days
        counts.append(len(asked))

    assert counts[0] == counts[2]
