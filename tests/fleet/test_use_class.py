"""Another use of a cart, or another site: what falls due goes on, by the rules there."""

from datetime import timedelta

import pytest

from fleet.actions import meters, project, register, sites
from fleet.as_of import work_at
from fleet.default_rules import book_to_json, default_book
from fleet.kinds import Cut
from fleet.models import Cart
from lifts.actions import fit
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db
WHOLE_VISITS = ((0, 0), (3, 4), (20, 25), (80, 100))
OF_RENTAL = {"brake-check", "camber-toe", "grease-round", "hub-play", "joint-round"}
OF_RENTAL |= {"label-check", "speed-run", "tyre-check"}


def on(days):
    return MORNING + timedelta(days=days)


def settled(use_class):
    """A cart whose lift has settled, with its manager."""
    site, manager = a_site()
    cart = a_cart(site, manager, use_class=use_class)
    meters.fit_meter(cart, "hours", 0, unit="h", by=manager, at=MORNING)
    fit(cart, a_kit(site, manager), by=manager, at=MORNING)
    for days, hours in WHOLE_VISITS:
        a_round(cart, by=manager, at=on(days), hours=hours)
    return cart, manager


def change(cart, manager, use_class, days=81):
    register.change_cart(cart, "use class", {"use_class": use_class}, by=manager, at=on(days))


def kinds(cart):
    return set(cart.rechecks.active().values_list("kind_code", flat=True))


def test_an_owners_cart_put_to_hire_is_asked_for_all_that_hire_asks_for():
    cart, manager = settled("owner")

    change(cart, manager, "rental")
    at_once = kinds(cart)
    a_round(cart, by=manager, at=on(440), hours=300)

    assert at_once == OF_RENTAL | {"yearly-visit"}
    assert kinds(cart) == OF_RENTAL
    assert project.differences([cart.pk]) == []


def test_a_hired_cart_that_an_owner_takes_gets_its_yearly_visit():
    cart, manager = settled("rental")

    change(cart, manager, "owner")
    at_once = kinds(cart)
    for days in (170, 260, 350, 447):
        a_round(cart, by=manager, at=on(days), hours=days)

    assert at_once == OF_RENTAL | {"yearly-visit"}
    assert kinds(cart) == {"yearly-visit"}


def test_a_use_with_the_same_kinds_of_work_starts_nothing_anew():
    cart, manager = settled("rental")
    before = set(cart.rechecks.values_list("pk", flat=True))

    change(cart, manager, "staff")

    assert set(cart.rechecks.values_list("pk", flat=True)) == before


def test_a_lift_that_has_not_settled_is_asked_for_nothing_that_follows_settling():
    site, manager = a_site()
    cart = a_cart(site, manager, use_class="owner")
    fit(cart, a_kit(site, manager), by=manager, at=MORNING)
    a_round(cart, by=manager, at=MORNING)

    change(cart, manager, "rental", days=1)

    assert {"label-check", "tyre-check", "brake-check", "speed-run"} <= kinds(cart)
    assert not {"joint-round", "grease-round", "hub-play", "camber-toe"} & kinds(cart)


def test_a_cart_is_asked_for_what_its_new_site_alone_asks_for():
    cart, manager = settled("rental")
    book = book_to_json(default_book())
    book["rules"] = [rule for rule in book["rules"] if rule["kind"] != "grease-round"]
    plain, other = a_site("plain")
    sites.change_rules(plain, book, reason="No grease points", by=other, at=MORNING)
    register.move_cart(cart, plain, by=manager, at=on(90))
    moved = Cart.objects.get(pk=cart.pk)
    a_round(moved, by=manager, at=on(190), hours=400)
    assert "grease-round" not in kinds(cart)

    register.move_cart(moved, cart.site, by=manager, at=on(200))

    assert kinds(cart) == OF_RENTAL
    assert project.differences([cart.pk]) == []


def test_a_rule_put_back_reaches_the_carts_that_settled_without_it():
    cart, manager = settled("rental")
    whole = cart.site.rule_books.get().rules
    fewer = [rule for rule in whole["rules"] if rule["kind"] != "joint-round"]
    without = {**whole, "rules": fewer}
    sites.change_rules(cart.site, without, reason="Less", by=manager, at=on(90))
    a_round(cart, by=manager, at=on(150), hours=340)
    before = kinds(cart)

    sites.change_rules(cart.site, whole, reason="As it was", by=manager, at=on(160))

    assert "joint-round" not in before
    assert kinds(cart) == before | {"joint-round"}
    assert project.differences([cart.pk]) == []


def test_a_rule_book_that_came_later_starts_nothing_on_an_earlier_day():
    cart, manager = settled("rental")
    whole = cart.site.rule_books.get().rules
    fewer = [rule for rule in whole["rules"] if rule["kind"] != "joint-round"]
    sites.change_rules(cart.site, {**whole, "rules": fewer}, reason="Less", by=manager, at=on(90))
    a_round(cart, by=manager, at=on(150), hours=340)
    cut = Cut(on(155), on(155))
    stood = [work for _, work in work_at(cart.site, cut)]

    sites.change_rules(cart.site, whole, reason="As it was", by=manager, at=on(160))

    assert [work for _, work in work_at(cart.site, cut)] == stood
