"""Lay-ups on real carts go by the rule book in force when they began."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from fleet.actions import meters, project, register, sites
from fleet.default_rules import book_to_json, default_book
from fleet.layup import LayUpLimits
from fleet.reach import Limits
from fleet.rulebook import Rule
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
IN_TEN_DAYS = Rule("ten-days", "brake-check", ("tyre-size",), ladder=(Limits(days=10),))


@pytest.fixture
def place():
    site, manager = a_site(at=MORNING - DAY)
    in_force(site, manager, LayUpLimits(longest_days=100), at=MORNING)
    return site, manager


@pytest.fixture
def cart(place):
    site, manager = place
    cart = a_cart(site, manager, use_class="owner")
    meters.fit_meter(cart, "hours", Decimal(50), unit="h", by=manager, at=MORNING)
    register.change_tyres(cart, "22 in", Decimal(550), by=manager, at=MORNING)
    return cart


def in_force(site, manager, limits, *, at):
    book = default_book()
    book = replace(book, rules=(*book.rules, IN_TEN_DAYS), lay_up=limits)
    sites.change_rules(site, book_to_json(book), reason="Trial", by=manager, at=at)


def due_on(cart):
    return cart.rechecks.get(rule_code="ten-days").due_on


def test_a_lay_up_pauses_as_long_as_the_book_says_and_no_longer(place, cart):
    _site, manager = place

    register.lay_up(cart, by=manager, at=MORNING + DAY)
    register.wake(cart, by=manager, at=MORNING + 300 * DAY)

    assert due_on(cart) == date(2026, 3, 2) + (10 + 100) * DAY


def test_a_later_book_moves_no_lay_up_that_began_before(place, cart):
    site, manager = place
    register.lay_up(cart, by=manager, at=MORNING + DAY)
    in_force(site, manager, LayUpLimits(longest_days=5), at=MORNING + 2 * DAY)
    assert project.differences([cart.pk]) == []

    register.wake(cart, by=manager, at=MORNING + 51 * DAY)
    before = due_on(cart)
    register.lay_up(cart, by=manager, at=MORNING + 52 * DAY)

    assert before == date(2026, 3, 2) + (10 + 50) * DAY
    assert due_on(cart) == before + 5 * DAY
    assert project.differences([cart.pk]) == []


@pytest.mark.parametrize(("hours", "paused"), [("50.5", 30), ("50.6", 0)])
def test_more_use_than_the_book_allows_voids_a_lay_up(place, cart, hours, paused):
    site, manager = place
    in_force(site, manager, LayUpLimits(void_hours=Decimal("0.5")), at=MORNING + DAY)
    register.lay_up(cart, by=manager, at=MORNING + 2 * DAY)

    meters.add_reading(cart, hours=Decimal(hours), by=manager, at=MORNING + 20 * DAY)
    register.wake(cart, by=manager, at=MORNING + 32 * DAY)

    assert due_on(cart) == date(2026, 3, 2) + (10 + paused) * DAY


@pytest.mark.parametrize(
    ("told", "due"), [(8, date(2026, 3, 2) + 20 * DAY), (8.1, date(2026, 3, 2) + 13 * DAY)]
)
def test_a_lay_up_told_more_than_a_week_late_begins_when_it_was_told(place, cart, told, due):
    _site, manager = place

    register.lay_up(cart, by=manager, at=MORNING + told * DAY, done_at=MORNING + DAY)
    register.wake(cart, by=manager, at=MORNING + 11 * DAY)

    assert due_on(cart) == due


def test_a_lay_up_told_after_the_work_was_late_leaves_it_late(place, cart):
    site, manager = place
    at = MORNING + 30 * DAY

    register.lay_up(cart, by=manager, at=at, done_at=MORNING + DAY)

    late_on = cart.rechecks.get(rule_code="ten-days").late_on
    assert late_on is not None and late_on < site.day(at)
