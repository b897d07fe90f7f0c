"""Rounds taken back, moved to the right cart and told again."""

import pytest

from fleet.actions import project, tags
from fleet.actions.corrections import move_round
from fleet.models import Cart, Reading, Recheck, Round, Tag
from lifts.models import JointPart, Look
from shared.models import Entry
from tests.round_pages import Shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(monkeypatch):
    return Shop(monkeypatch)


def close_outs(cart):
    found = Recheck.objects.filter(cart=cart, kind_code="fitting-close-out")
    return [recheck.ended for recheck in found]


def managed(client, shop, act, **data):
    client.force_login(shop.manager)
    row = Round.objects.earliest("received_at")
    return client.post(shop.url(f"round-{act}", row.pk), {"reason": "wrong cart", **data})


def test_a_struck_round_opens_again_what_it_closed_and_stays_readable(client, shop):
    shop.rounds(client, hours="412.0", **{"brake-is_pedal_low": "yes"})
    assert Cart.objects.get(pk=shop.cart.pk).is_tagged

    response = managed(client, shop, "strike")

    assert close_outs(shop.cart) == [""]
    assert not Cart.objects.get(pk=shop.cart.pk).is_tagged
    assert Round.objects.count() == 1
    page = client.get(response["Location"])
    assert page.context["result"].strike.why_corrected == "wrong cart"
    assert project.differences([shop.cart.pk]) == []


def test_a_round_struck_twice_is_struck_once(client, shop):
    shop.rounds(client, hours="412.0")
    managed(client, shop, "strike")
    entries = Entry.objects.count()

    again = managed(client, shop, "strike")

    assert again.status_code == 302
    assert Entry.objects.count() == entries


def test_a_moved_round_counts_at_the_right_cart_with_all_its_looks(client, shop):
    other = shop.lifted("8")
    shop.rounds(client, hours="412.0")
    looks = Look.objects.count()

    response = managed(client, shop, "move", number="8")

    assert (close_outs(shop.cart), close_outs(other)) == ([""], ["closed"])
    moved = Round.objects.get(cart=other)
    assert Look.objects.filter(fact__round=moved).count() == looks
    assert JointPart.objects.get(round=moved).cart_id == other.pk
    assert Reading.objects.get(cart=other).round_id == moved.pk
    assert response["Location"] == shop.url("round-detail", moved.pk, cart=other)
    old = client.get(shop.url("round-detail", moved.corrects)).context["result"]
    assert old.replaced_by == moved
    assert project.differences([shop.cart.pk, other.pk]) == []


def test_the_same_move_again_is_the_same_act(client, shop):
    other = shop.lifted("8")
    shop.rounds(client, hours="412.0")
    row = Round.objects.get()
    who = {"reason": "wrong cart", "by": shop.manager}

    first = move_round(row, other, **who, at=shop.at)
    shop.later(minutes=1)
    again = move_round(row, other, **who, at=shop.at)

    assert first.pk == again.pk
    assert Round.objects.count() == 2


def test_a_move_to_the_cart_it_is_on_is_refused(client, shop):
    shop.rounds(client, hours="412.0")

    response = managed(client, shop, "move", number="7")

    assert response.context["form"].errors["number"] == ["The round is on that cart already."]


def test_a_round_told_again_stands_in_place_of_the_first(client, shop):
    shop.rounds(client, hours="412.0", **{"brake-is_pedal_low": "yes"})
    first = Round.objects.get()
    shop.later(days=1)
    page = shop.opened(client, by=shop.manager, query=f"?corrects={first.pk}")

    silent = shop.sent(client, page, hours="412.5")
    told = shop.sent(client, page, hours="412.5", why_corrected="the pedal was full")

    assert list(silent.context["form"].errors) == ["why_corrected"]
    assert told.status_code == 302
    second = Round.objects.get(corrects=first.pk)
    assert second.done_at == first.done_at
    assert close_outs(shop.cart) == ["closed"]
    assert not Cart.objects.get(pk=shop.cart.pk).is_tagged
    assert Tag.objects.standing(shop.at).count() == 0
    assert project.differences([shop.cart.pk]) == []


def test_a_mechanic_neither_moves_nor_strikes(client, shop):
    shop.rounds(client, hours="412.0")
    row = Round.objects.get()

    answers = [client.get(shop.url(f"round-{act}", row.pk)) for act in ("move", "strike")]

    assert [answer.status_code for answer in answers] == [404, 404]


def test_a_round_that_is_none_is_not_told_again(client, shop):
    client.force_login(shop.mechanic)

    answers = [client.get(shop.url("round-create") + f"?corrects={name}") for name in ("x", "%00")]

    assert [answer.status_code for answer in answers] == [404, 404]


LOW_PEDAL = {"hours": "412.0", "brake-is_pedal_low": "yes"}


def told_again(client, shop, row, **changes):
    shop.later(hours=1)
    page = shop.opened(client, by=shop.manager, query=f"?corrects={row.pk}")
    shop.sent(client, page, why_corrected="a slip", **LOW_PEDAL | changes)
    return Round.objects.get(corrects=row.pk), page


def handed_back(client, shop):
    """A round that tagged the cart, the tag answered."""
    shop.rounds(client, **LOW_PEDAL)
    shop.later(hours=1)
    who = {"repaired_by": shop.mechanic, "by": shop.manager, "at": shop.at}
    tags.hand_back(Tag.objects.get(), done="Pedal set", **who)
    return Round.objects.get()


def test_a_tag_handed_back_stays_answered_however_often_its_round_is_told_again(client, shop):
    second, page = told_again(client, shop, handed_back(client, shop), hours="412.1")
    again = shop.sent(client, page, why_corrected="a slip", **LOW_PEDAL | {"hours": "412.1"})
    told_again(client, shop, second, hours="412.2")

    assert again["Location"].endswith(f"{second.pk}/")
    assert not Cart.objects.get(pk=shop.cart.pk).is_tagged
    assert Tag.objects.count() == 1
    assert project.differences([shop.cart.pk]) == []


def test_another_finding_told_later_tags_the_cart_again(client, shop):
    told_again(client, shop, handed_back(client, shop), **{"brake-holds_on_slope": "no"})

    assert Cart.objects.get(pk=shop.cart.pk).is_tagged
