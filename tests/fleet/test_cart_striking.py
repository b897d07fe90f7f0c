"""Entries taken back from the cart's page."""

from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import meters, project, register, sites, tags
from fleet.models import Reading, Recheck
from shared import clock
from shared.models import Change, Entry, Role
from tests.factories import MORNING
from tests.fleet.cart_yard import NOW, Yard
from tests.lift_factories import a_site
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return Yard(client)


def striking(yard, fact, **typed):
    url = reverse("entry-strike", args=[yard.site.slug, yard.cart.pk, fact.pk])
    return yard.client.post(url, typed) if typed else yard.client.get(url)


def test_a_reading_typed_wrong_is_taken_back_and_counts_no_more(yard):
    due = Recheck.objects.get(cart=yard.cart, kind_code="fitting-close-out").due_on
    wrong = meters.add_reading(yard.cart, hours=Decimal("4460"), by=yard.manager, at=NOW)
    url = reverse("entry-strike", args=[yard.site.slug, yard.cart.pk, wrong.pk])

    offered = url in yard.page().content.decode()
    asked = striking(yard, wrong)
    response = striking(yard, wrong, reason="a nought too many")

    assert offered and "4,460.0" in asked.content.decode()
    assert response.status_code == 302
    assert yard.now().hours_life == Decimal("446.000")
    assert Recheck.objects.get(cart=yard.cart, kind_code="fitting-close-out").due_on == due
    assert "a nought too many" in yard.page().content.decode()
    assert project.differences([yard.cart.pk]) == []


def test_an_entry_taken_back_twice_is_taken_back_once(yard):
    wrong = tags.tag_cart(yard.cart, "wrong cart", by=yard.manager, at=NOW)

    striking(yard, wrong, reason="the other cart")
    entries = Entry.objects.count()
    striking(yard, wrong, reason="the other cart")
    striking(yard, wrong, reason="again")

    assert not yard.now().is_tagged
    assert Entry.objects.count() == entries


def test_what_others_hang_on_is_not_taken_back_by_itself(yard):
    visit = a_round(yard.cart, by=yard.manager, at=NOW, hours=Decimal(450))
    joined = Change.objects.get(what="joined", cart_id=yard.cart.pk)
    reading = Reading.objects.get(round_id=visit.round.pk)

    answers = [striking(yard, fact, reason="no") for fact in (joined, reading, visit.round)]

    assert [answer.status_code for answer in answers] == [404, 404, 404]


def test_an_entry_of_the_site_before_is_taken_back_at_the_new_one(yard):
    wrong = tags.tag_cart(yard.cart, "wrong cart", by=yard.manager, at=NOW)
    marina, boss = a_site("marina")
    sites.give_role(marina, yard.manager, Role.MANAGER, MORNING.date(), None, by=boss, at=NOW)
    register.move_cart(yard.cart, marina, by=yard.manager, at=NOW)
    url = reverse("entry-strike", args=["marina", yard.cart.pk, wrong.pk])

    yard.client.post(url, {"reason": "the other cart"})

    assert not yard.now().is_tagged
    assert Entry.objects.get(corrects=wrong.pk).site_id == marina.pk
    assert project.differences([yard.cart.pk]) == []
