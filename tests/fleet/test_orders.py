"""Who ordered a recheck and why, on the board and on the cart's page."""

from datetime import timedelta

import pytest
from django.urls import reverse

from fleet.actions.tags import order_recheck
from shared import clock
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site

pytestmark = pytest.mark.django_db
SAID = "ordered by Manager of harbour: the insurer asked"


@pytest.fixture
def site(client, monkeypatch):
    site, manager = a_site()
    monkeypatch.setattr(clock, "now", lambda: MORNING)
    client.force_login(manager)
    cart = a_cart(site, manager)
    due_on = site.day(MORNING) + timedelta(days=3)
    who = {"by": manager, "at": MORNING, "reason": "the insurer asked"}
    order_recheck(cart, "label-check", due_on, **who)
    return site


def said(client, name, *args, **query):
    return client.get(reverse(name, args=args), query).content.decode()


def test_the_board_says_who_ordered_a_recheck_and_why(client, site):
    assert said(client, "board", site.slug).count(SAID) == 1


def test_the_board_as_a_file_says_it_too(client, site):
    file = client.get(reverse("board", args=[site.slug]), {"file": "csv"})

    text = b"".join(file).decode() if file.streaming else file.content.decode()
    assert text.count(SAID) == 1


def test_the_cart_s_page_says_it_in_its_row(client, site):
    cart = site.carts.get()

    rows = client.get(reverse("cart-detail", args=[site.slug, cart.pk])).context["active"]

    assert [SAID in row.why for row in rows] == [True]
