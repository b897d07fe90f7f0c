"""A round moved to another cart: its reading is judged there, and both carts tell what became."""

from decimal import Decimal

import pytest

from fleet.actions import project
from fleet.actions.meters import add_reading
from fleet.models import Reading, Round
from shared.models import Strike
from tests.round_pages import Shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(monkeypatch):
    shop = Shop(monkeypatch)
    shop.other = shop.lifted("8")
    shop.later(days=1)
    return shop


def read_there(shop, hours):
    add_reading(shop.other, hours=Decimal(hours), by=shop.manager, at=shop.at)
    shop.later(hours=1)


def moved(client, shop, **said):
    client.force_login(shop.manager)
    row = Round.objects.earliest("received_at")
    data = {"number": "8", "reason": "It was the 8", **said}
    return client.post(shop.url("round-move", row.pk), data)


def readings(cart, shop):
    return Reading.objects.standing(shop.at).filter(cart=cart, round_id__isnull=False)


def test_a_reading_that_cannot_be_there_is_asked_about_first(client, shop):
    read_there(shop, "420")
    shop.rounds(client, hours="412.5")

    asked = moved(client, shop)

    assert asked.status_code == 200
    form = asked.context["form"]
    assert form["hours_why"].label == "412.5 h is less than the 420.0 h read last. Why?"
    assert form.errors["hours_why"] == ["Press what it is, or leave the reading behind."]
    assert "412.5 h. Cart 8 was last read before at 420.0 h." in asked.content.decode()
    assert "less than the 420.0 h read last. Why?</legend>" in asked.content.decode()
    assert Round.objects.count() == 1


def test_a_reading_is_left_behind_with_the_reason(client, shop):
    read_there(shop, "420")
    shop.rounds(client, hours="412.5")

    answers = [moved(client, shop, reading="leave") for _time in (1, 2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert Round.objects.count() == 2 and Strike.objects.count() == 1
    assert Strike.objects.get().corrects == Reading.objects.get(round_id__isnull=False).pk
    assert Strike.objects.get().why_corrected == "It was the 8"
    assert readings(shop.cart, shop).count() == readings(shop.other, shop).count() == 0
    assert project.differences([shop.cart.pk, shop.other.pk]) == []


def test_a_doubted_reading_is_taken_along_with_an_answer(client, shop):
    read_there(shop, "420")
    shop.rounds(client, hours="412.5")

    answer = moved(client, shop, reading="take", hours_why="changed")

    assert answer.status_code == 302
    assert readings(shop.other, shop).get().doubted == "meter changed"


def test_a_reading_that_fits_goes_along_unasked(client, shop):
    shop.rounds(client, hours="412.5")

    assert moved(client, shop).status_code == 302
    assert readings(shop.other, shop).get().hours_shown == Decimal("412.5")


def test_a_reading_that_fits_may_stay_behind_too(client, shop):
    shop.rounds(client, hours="412.5")

    assert moved(client, shop, reading="leave").status_code == 302
    assert readings(shop.other, shop).count() == 0


def test_the_move_form_says_the_reading_and_asks_nothing_yet(client, shop):
    shop.rounds(client, hours="412.5")
    client.force_login(shop.manager)

    form = client.get(shop.url("round-move", Round.objects.get().pk)).context["form"]

    assert list(form.fields) == ["number", "reason", "reading"]
    assert form.fields["reading"].help_text.startswith("412.5 h.")


def test_a_moved_round_taken_back_there_is_said_to_be_at_the_first_cart(client, shop):
    shop.rounds(client)
    first = Round.objects.get()
    moved(client, shop)
    there = Round.objects.get(corrects=first.pk)
    before = client.get(shop.url("round-detail", first.pk)).content.decode()
    client.post(shop.url("round-strike", there.pk, cart=shop.other), {"reason": "never done"})

    page = client.get(shop.url("round-detail", first.pk)).content.decode()

    assert "The entry that stands, at cart 8" in before
    assert "The entry that stands" not in page
    assert "At cart 8 it was taken back since, on" in page
    assert f"by {shop.manager}: never done" in page


def test_a_mechanic_is_told_who_can_mend_a_round(client, shop):
    shop.rounds(client)
    url = shop.url("round-detail", Round.objects.get().pk)
    said = "A manager can correct it, move it to another cart or take it back."

    assert said in client.get(url).content.decode()
    client.force_login(shop.manager)
    assert said not in client.get(url).content.decode()
