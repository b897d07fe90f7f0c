"""The newest readings alone give the figures that a cart's whole history gives."""

import random
from datetime import timedelta
from decimal import Decimal

import pytest

from fleet import lately
from fleet.actions import meters, register
from fleet.meters import points_of
from fleet.models import Cart, Reading
from fleet.standing import facts_of
from fleet.usage import use_rate
from shared.models import Site
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site

pytestmark = pytest.mark.django_db
# the row of the cart holds its life to a thousandth
ROUNDED = Decimal("0.001")
FEW = 5


@pytest.fixture(autouse=True)
def few_are_enough(monkeypatch):
    monkeypatch.setattr(lately, "LEAST_READINGS", FEW)


def told(chance, cart, manager, day):
    """Tell one more thing of a cart's meters: mostly a reading, of either or both."""
    at = MORNING + timedelta(days=day, hours=chance.choice([0, 0, 5]))
    who = {"by": manager, "at": MORNING + timedelta(days=400)}
    what = chance.choice(["read"] * 12 + ["guess", "guess", "lower", "roll", "meter", "tyres"])
    hours, miles = Decimal(100 + 3 * day), Decimal(1000 + 20 * day + chance.randint(0, 9))
    match what:
        case "meter":
            old = chance.choice([None, hours])
            meters.fit_meter(
                cart, "hours", chance.randint(0, 50), unit="h", done_at=at, old_final=old, **who
            )
        case "tyres":
            register.change_tyres(cart, "20", chance.choice([450, 508]), done_at=at, **who)
        case _:
            shown = chance.choice(
                [{"hours": hours}, {"distance": miles}] + [{"hours": hours, "distance": miles}] * 3
            )
            if what == "lower":
                shown = {name: value / 2 for name, value in shown.items()}
            source = Reading.Source.ESTIMATED if what == "guess" else Reading.Source.DESK
            rolled = {f"{name}_rolled": what == "roll" for name in shown}
            meters.add_reading(cart, done_at=at, source=source, **shown, **rolled, **who)


@pytest.mark.parametrize("seed", range(12))
def test_the_newest_readings_have_the_life_that_the_whole_history_gives(seed):
    chance = random.Random(seed)
    site, manager = a_site()
    cart = a_cart(site, manager)
    if chance.random() < 0.5:
        who = {"by": manager, "at": MORNING, "wheel_driven": True, "set_for_mm": 457}
        meters.fit_meter(cart, "distance", 900, unit="mi", rolls_at=9000, **who)
    for day in sorted(chance.choices(range(1, 300), k=40)):
        told(chance, cart, manager, day)
    sites = Site.objects.in_bulk()

    cart = Cart.objects.select_related("site").get(pk=cart.pk)
    whole = points_of(facts_of([cart.pk])[cart.pk], sites)
    newest = lately.lately_of(cart).points(sites)

    for ours, all_points in zip(newest, whole, strict=True):
        expected = all_points[len(all_points) - len(ours) :]
        assert len(ours) >= min(FEW, len(all_points))
        assert [(one.at, one.shown, one.estimated) for one in ours] == [
            (one.at, one.shown, one.estimated) for one in expected
        ]
        off = [abs(one.life - other.life) for one, other in zip(ours, expected, strict=True)]
        assert max(off, default=0) <= ROUNDED
        assert rounded(use_rate(ours)) == rounded(use_rate(all_points))
    assert sum(map(len, newest)) < sum(map(len, whole))


def rounded(rate):
    if rate is None:
        return None
    figures = [round(value, 9) for value in (rate.per_day, rate.low, rate.high)]
    return (*figures, rate.count, rate.estimated)


def test_a_cart_without_readings_has_no_points():
    site, manager = a_site()
    cart = a_cart(site, manager)

    found = lately.lately_of(Cart.objects.get(pk=cart.pk))

    assert found.points({site.pk: site}) == [(), ()]
