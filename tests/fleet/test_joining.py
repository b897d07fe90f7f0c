"""A cart that a manager adds by hand."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import register
from fleet.models import Cart, Reading
from shared import clock
from shared.models import Change, Entry, new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=40)  # 04/11/2026


@pytest.fixture
def site(client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    site, manager = a_site()
    client.force_login(manager)
    return site


@pytest.fixture
def manager(site):
    return site.memberships.get().person


@pytest.fixture
def add(client, site):
    def act(**typed):
        least = {"act": str(new_id()), "joined_on": "2026-04-11", "use_class": "rental"}
        return client.post(reverse("cart-create", args=[site.slug]), {**least, **typed})

    return act


def errors(response):
    return dict(response.context["form"].errors)


def test_the_list_and_an_empty_fleet_lead_to_it(client, site, manager):
    url = reverse("cart-create", args=[site.slug])
    empty = client.get(reverse("cart-list", args=[site.slug])).content.decode()
    a_cart(site, manager)

    full = client.get(reverse("cart-list", args=[site.slug])).content.decode()

    assert (empty.count(url), full.count(url)) == (1, 1)


def test_a_number_is_enough(site, add):
    response = add(number="412")

    cart = Cart.objects.get()
    assert response.url == cart.get_absolute_url()
    assert (cart.number, cart.use_class, cart.condition) == ("412", "rental", "in use")
    assert (cart.joined_on, cart.tyre, cart.tyre_mm, cart.seats) == (
        date(2026, 4, 11),
        "",
        None,
        None,
    )
    assert not Reading.objects.exists()


def test_where_it_bears_a_lift_that_is_recorded_next(site, add):
    response = add(number="412", has_lift="on")

    cart = Cart.objects.get()
    assert response.url == reverse("fitting-create", args=[site.slug, cart.pk])


def test_all_that_is_told_is_kept(site, add):
    add(
        **{"number": "412", "serial": "HB-0412", "seats": "4", "power": "lithium"},
        **{"tyre": "22x11-10", "hours": "412.5", "distance": "1,850.0"},
        **{"area": "Marina", "bay": "B2", "colour": "sand", "model_year": "2024"},
        **{"owner_ref": "F-17", "insurer_told_on": "2026-04-01", "use_class": "shuttle"},
    )

    cart = Cart.objects.get()
    assert (cart.serial, cart.seats, cart.power, cart.use_class) == (
        *("HB-0412", 4),
        *("lithium", "shuttle"),
    )
    assert (cart.tyre, cart.tyre_mm) == ("22x11-10", Decimal("558.8"))
    assert (cart.hours_shown, cart.distance_shown, cart.distance_unit) == (
        Decimal("412.5"),
        Decimal("1850"),
        "mi",
    )
    assert (cart.area, cart.bay, cart.colour, cart.model_year) == ("Marina", "B2", "sand", 2024)
    assert (cart.owner_ref, cart.insurer_told_on) == ("F-17", date(2026, 4, 1))
    assert Reading.objects.get().typed == "412.5; 1,850.0"


def test_a_figure_in_another_unit_counts_in_that_of_the_site(site, add):
    add(number="412", distance="100 km")

    assert round(Cart.objects.get().distance_shown, 2) == Decimal("62.14")


def test_a_cart_may_have_joined_before(site, add):
    add(number="412", joined_on="2026-03-20", hours="10")

    cart = Cart.objects.get()
    assert cart.joined_on == date(2026, 3, 20)
    assert Change.objects.get(what="joined").day_only
    assert Reading.objects.get().done_at == NOW


def test_a_cart_that_is_not_there_yet_is_not_added(site, add):
    response = add(number="412", joined_on="2026-04-12")

    assert errors(response) == {"joined_on": ["A day up to today: add the cart once it is there."]}
    assert not Cart.objects.exists()


@pytest.mark.parametrize(
    ("name", "day", "said"),
    [
        ("joined_on", "0001-01-01", "A day from 1950-01-01 on, the year in full."),
        ("joined_on", "1949-12-31", "A day from 1950-01-01 on, the year in full."),
        ("insurer_told_on", "1900-01-01", "A day from 1950-01-01 on, the year in full."),
        ("insurer_told_on", "2026-04-12", "A day up to today: nothing yet to be done is recorded."),
    ],
)
def test_a_day_that_cannot_be_is_refused(site, add, name, day, said):
    response = add(number="412", **{name: day})

    assert errors(response) == {name: [said]}
    assert not Cart.objects.exists()


@pytest.mark.parametrize(
    ("left_after", "joined_on", "said"),
    [
        (None, "2026-04-11", "Another cart carries number 8 today."),
        (20, "2026-03-10", "Another cart carried number 8 until 03/22/2026: a day after that."),
    ],
)
def test_a_number_of_another_cart_is_refused(site, manager, add, left_after, joined_on, said):
    other = a_cart(site, manager, "8")
    if left_after:
        register.leave(other, by=manager, at=MORNING + timedelta(days=left_after))

    response = add(number="8", joined_on=joined_on, seats="4")

    assert errors(response) == {"number": [said]}
    assert response.context["form"]["seats"].value() == "4"
    assert Cart.objects.count() == 1


def test_a_serial_number_of_another_cart_is_refused(site, manager, add):
    a_cart(site, manager, "8", serial="HB-08")

    response = add(number="9", serial="hb-08")

    assert errors(response) == {"serial": ["Cart 8 has the serial number hb-08."]}
    assert Cart.objects.count() == 1


def test_a_cart_that_left_comes_back_as_a_cart_of_its_own(site, manager, add):
    old = a_cart(site, manager, "8", serial="HB-08")
    register.leave(old, by=manager, at=MORNING + timedelta(days=20))

    add(number="8", serial="HB-08")

    assert Cart.objects.in_fleet().get().pk != old.pk


def test_tyres_are_asked_as_on_a_carts_own_page(site, add):
    unmarked = add(number="412", tyre_mm="22 in")
    apart = add(number="412", tyre="22x11-10", tyre_mm="20 in")
    assert errors(unmarked) == {"tyre": ["Type also what is written on the tyres."]}
    assert list(errors(apart)) == ["is_sure"]

    add(number="412", tyre="22x11-10", tyre_mm="20 in", is_sure="on")

    assert Cart.objects.get().tyre_mm == Decimal("508")


def test_a_second_press_adds_no_second_cart(site, add):
    act = str(new_id())
    first = add(act=act, number="412", serial="HB-0412", hours="5")
    entries = Entry.objects.count()

    second = add(act=act, number="412", serial="HB-0412", hours="5")

    assert second.url == first.url
    assert (Cart.objects.count(), Entry.objects.count()) == (1, entries)


def test_a_page_sent_again_with_another_cart_asks_before_it_adds_that_too(site, add):
    act = str(new_id())
    add(act=act, number="40", serial="AA-40")

    asked = add(act=act, number="41", serial="AA-41")

    form = asked.context["form"]
    assert "Press again only if this is to be recorded as well." in asked.content.decode()
    assert (form["number"].value(), Cart.objects.count()) == ("41", 1)

    for _press in range(2):
        add(act=form["act"].value(), number="41", serial="AA-41")

    assert sorted(Cart.objects.values_list("number", flat=True)) == ["40", "41"]


def test_the_register_takes_no_serial_number_of_another_cart(client, site, manager):
    a_cart(site, manager, "8", serial="HB-08")
    cart = a_cart(site, manager, "9", serial="HB-09")
    url = reverse("cart-register", args=[site.slug, cart.pk])
    typed = {"act": str(new_id()), "number": "9", "use_class": "rental"}

    refused = client.post(url, {**typed, "serial": "HB-08"})
    client.post(url, {**typed, "serial": "HB-09", "bay": "B4"})

    assert errors(refused) == {"serial": ["Cart 8 has the serial number HB-08."]}
    assert Cart.objects.filter(pk=cart.pk, serial="HB-09", bay="B4").exists()


def test_the_number_of_a_cart_that_left_today_is_free_tomorrow(site, manager, add):
    cart = a_cart(site, manager, "31", at=NOW)
    register.leave(cart, by=manager, at=NOW)

    said = "Another cart carried number 31 until today: it is free tomorrow."
    assert errors(add(number="31")) == {"number": [said]}
