"""One round sent eight times at once, and two rounds of one cart at once, on PostgreSQL."""

from datetime import timedelta
from functools import partial

import pytest

from fleet.actions import project
from fleet.actions.rounds import save_round
from fleet.models import Reading, Recheck, Round
from fleet.round_page import RoundPage
from fleet.visits import called_at, new_visit
from shared.viewer import Viewer
from tests.at_once import at_once
from tests.round_pages import Shop, typed

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]
TIMES = 8


@pytest.fixture
def shop(postgres, monkeypatch):
    return Shop(monkeypatch)


def page_of(shop, person):
    """Return a valid page of a whole close-out, each time made anew from what was sent."""
    visit = new_visit(shop.cart, Viewer(person, shop.at), called_at(shop.cart, shop.at))
    sent = typed(RoundPage(visit, shop.at), hours="412.0")
    return lambda: RoundPage(visit, shop.at, sent, {})


def save(shop, make_page, person, late_by=timedelta()):
    page = make_page()
    assert page.is_valid()
    return save_round(shop.cart, page.taken_down(), by=person, at=shop.at + late_by)


def test_the_same_round_sent_eight_times_at_once_is_one(shop):
    page = page_of(shop, shop.mechanic)
    seconds = [timedelta(seconds=n) for n in range(TIMES)]

    saved = at_once(*[partial(save, shop, page, shop.mechanic, late) for late in seconds])

    assert sorted(one.first for one in saved) == [False] * (TIMES - 1) + [True]
    assert Round.objects.count() == 1
    assert Reading.objects.count() == 1
    assert {len(one.closed) for one in saved} == {1}


def test_two_mechanics_who_save_at_once_close_the_recheck_once(shop):
    people = (shop.mechanic, shop.manager)
    pages = [(page_of(shop, person), person) for person in people]

    at_once(*[partial(save, shop, page, person) for page, person in pages])

    closed = Recheck.objects.filter(cart=shop.cart, kind_code="fitting-close-out")
    assert Round.objects.count() == 2
    assert [recheck.ended for recheck in closed] == ["closed"]
    assert project.differences([shop.cart.pk]) == []
