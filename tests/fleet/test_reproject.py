"""Rows made anew from the facts, and checked against them."""

import io
from datetime import date

import pytest
from django.core.management import CommandError, call_command

from fleet.models import Cart, CartNumber, Recheck
from lifts.actions import fit
from tests.factories import MORNING, CartFactory
from tests.lift_factories import a_cart, a_kit, a_site

pytestmark = pytest.mark.django_db


def told(*options):
    out = io.StringIO()
    call_command("reproject", *options, stdout=out)
    return out.getvalue().strip()


@pytest.fixture
def cart():
    site, manager = a_site()
    cart = a_cart(site, manager)
    fit(cart, a_kit(site, manager), by=manager, at=MORNING)
    return cart


def spoil_cart(cart):
    Cart.objects.filter(pk=cart.pk).update(bay="elsewhere")


def spoil_date(cart):
    Recheck.objects.filter(cart=cart).update(due_on=date(2030, 1, 1))


def drop_row(cart):
    Recheck.objects.filter(cart=cart).delete()


def add_number(cart):
    CartNumber.objects.create(
        site_id=cart.site_id, cart=cart, number="99", from_day=date(2026, 1, 1)
    )


def lose_cart(cart):
    Cart.objects.filter(pk=cart.pk).update(number="0")
    CartNumber.objects.filter(cart=cart).delete()


SPOILS = [spoil_cart, spoil_date, drop_row, add_number, lose_cart]


def test_reproject_check_finds_nothing_after_actions(cart):
    assert told("--check") == "1 carts, no differences"


@pytest.mark.parametrize("spoil", SPOILS)
def test_reproject_check_names_what_differs_and_changes_nothing(cart, spoil):
    spoil(cart)
    spoilt = list(Recheck.objects.values()), list(Cart.objects.values())

    with pytest.raises(CommandError, match="differ from the facts"):
        told("--check")

    assert (list(Recheck.objects.values()), list(Cart.objects.values())) == spoilt


@pytest.mark.parametrize("spoil", SPOILS)
def test_reproject_makes_the_rows_what_the_facts_say(cart, spoil):
    wanted = list(Recheck.objects.values()), list(Cart.objects.values())
    spoil(cart)

    told()

    assert (list(Recheck.objects.values()), list(Cart.objects.values())) == wanted
    assert told("--check") == "1 carts, no differences"


def test_reproject_twice_changes_nothing_the_second_time(cart):
    told()

    assert told() == "1 carts, 0 rows changed"


def test_reproject_of_one_site_leaves_the_others(cart):
    other, its_manager = a_site("island")
    spoil_cart(a_cart(other, its_manager))

    assert told("--check", "--site", "harbour") == "1 carts, no differences"
    with pytest.raises(CommandError):
        told("--check", "--site", "island")


def test_reproject_check_names_a_row_without_a_fact(cart):
    CartFactory(site=cart.site)

    with pytest.raises(CommandError, match="1 rows differ"):
        told("--check")


def test_reproject_of_an_unknown_site_says_so():
    with pytest.raises(CommandError, match="There is no site nowhere"):
        told("--site", "nowhere")
