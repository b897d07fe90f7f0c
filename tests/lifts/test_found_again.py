"""What is found again while its clock runs keeps the dates of the first time."""

from decimal import Decimal

import pytest

from fleet.actions.meters import add_reading
from fleet.models import Recheck
from tests.round_pages import Shop

pytestmark = pytest.mark.django_db
MILE_M = Decimal("1609.344")  # exact: NIST SP 811 (2008) App. B.8
AGAIN = "Found again: it keeps its dates from"
WORN = {"label-condition": "unreadable"}


@pytest.fixture
def shop(monkeypatch):
    shop = Shop(monkeypatch)
    shop.later(hours=1)
    return shop


def rounds(shop, client, **changes):
    answer = shop.sent(client, shop.opened(client, query="?whole"), **changes)
    assert answer.status_code == 302
    return client.get(answer.url).content.decode()


def running(shop, rule):
    return Recheck.objects.active().get(cart=shop.cart, rule_code=rule)


def dates(recheck):
    return (recheck.anchor_id, recheck.due_on, recheck.stops_on)


def test_a_label_found_wanting_again_keeps_its_first_24_hours(client, shop):
    rounds(shop, client, **WORN)
    first = running(shop, "label-wanting")
    shop.later(hours=20)

    page = rounds(shop, client, **WORN)

    assert dates(running(shop, "label-wanting")) == dates(first)
    assert f"{AGAIN} 03/02/2026, when it was found first." in page


def test_a_label_found_wanting_anew_after_it_was_replaced_has_new_dates(client, shop):
    rounds(shop, client, **WORN)
    first = running(shop, "label-wanting")
    shop.later(hours=20)
    rounds(shop, client)
    shop.later(hours=20)

    page = rounds(shop, client, **WORN)

    assert running(shop, "label-wanting").due_on > first.due_on
    assert AGAIN not in page


def test_a_lock_broken_again_keeps_its_first_five_hours_and_25_miles(client, shop):
    frame = shop.kit.joints.get(name="front frame").pk
    moved = {f"joints-found-{frame}": "took up", f"joints-right-{frame}": "yes"}
    rounds(shop, client, **moved)
    first = running(shop, "lock-again")
    shop.later(hours=2)
    meters = {"hours": Decimal(415), "distance": Decimal(1860)}
    add_reading(shop.cart, **meters, by=shop.mechanic, at=shop.at)
    shop.later(hours=1)

    page = rounds(shop, client, **moved)

    again = running(shop, "lock-again")
    assert again.subject == "front frame"
    assert again.anchor_id == first.anchor_id
    assert (again.due_hours, again.due_metres) == (first.due_hours, first.due_metres)
    assert again.due_hours == 412 + 5
    assert round(again.due_metres / MILE_M) == 1850 + 25
    assert f"{AGAIN} 03/02/2026, when it was found first." in page
