"""The cart list: narrowed, as a file, and at one cost."""

import csv
import io

import pytest
from django.urls import reverse

from shared import clock
from tests.factories import CartFactory
from tests.fleet.cart_yard import NOW, Yard
from tests.lift_factories import a_site, with_role

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return Yard(client)


def numbers(response):
    return [row.record.number for row in response.context["table"].rows]


@pytest.mark.parametrize(
    ("asked", "wanted"),
    [
        ({}, ["1", "2", "3"]),
        ({"number": "2"}, ["2"]),
        ({"number": "SN9"}, ["3"]),
        ({"mark": "lifted"}, ["1"]),
        ({"mark": "plain"}, ["2", "3"]),
        ({"mark": "tagged"}, ["2"]),
        ({"mark": "unproven"}, ["1"]),
        ({"condition": "left"}, ["4"]),
        ({"use_class": "staff"}, ["3"]),
        ({"condition": "in the pond"}, ["1", "2", "3"]),
    ],
)
def test_the_cart_list_is_narrowed_by_what_is_asked(client, monkeypatch, asked, wanted):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    site, manager = a_site()
    client.force_login(manager)
    CartFactory(site=site, number="1", is_lifted=True, is_unproven=True)
    CartFactory(site=site, number="2", is_tagged=True)
    CartFactory(site=site, number="3", serial="SN9", use_class="staff")
    CartFactory(site=site, number="4", condition="left")
    CartFactory(number="2")

    assert numbers(client.get(reverse("cart-list", args=[site.slug]), asked)) == wanted


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("144", ["144", "1144", "122", "1440", "150"]),
        ("sn-144-7", ["122"]),
        ("sn-144", ["150", "122"]),
    ],
)
def test_a_number_or_serial_typed_in_full_stands_first(client, yard, typed, wanted):
    for number, serial in [("122", "SN-144-7"), ("144", ""), ("1144", ""), ("1440", "")]:
        CartFactory(site=yard.site, number=number, serial=serial)
    CartFactory(site=yard.site, number="150", serial="SN-144")

    found = client.get(reverse("cart-list", args=[yard.site.slug]), {"number": typed})

    assert numbers(found) == wanted


def test_the_list_leads_a_manager_alone_to_bringing_in_carts(yard):
    url = reverse("cart-list", args=[yard.site.slug])
    led = reverse("import", args=[yard.site.slug])
    managers = yard.client.get(url).text.partition("<main")[2]
    yard.client.force_login(with_role(yard.site, yard.manager))

    assert (led in managers, led in yard.client.get(url).text) == (True, False)


def test_the_cart_list_is_a_csv_file_too(yard):
    response = yard.client.get(reverse("cart-list", args=[yard.site.slug]), {"file": "csv"})

    text = b"".join(response.streaming_content).decode("utf-8-sig")
    [row] = csv.DictReader(io.StringIO(text))
    assert (row["Cart"], row["Goes?"], row["Hours"], row["Last read"]) == (
        "7",
        "NO",
        "446.000",
        "2026-03-30",
    )


@pytest.mark.parametrize("count", [1, 30])
def test_the_cart_list_costs_the_same_however_long(
    client, monkeypatch, count, django_assert_num_queries
):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    site, manager = a_site()
    client.force_login(manager)
    CartFactory.create_batch(count, site=site, is_lifted=True)

    with django_assert_num_queries(7):
        client.get(reverse("cart-list", args=[site.slug]))
