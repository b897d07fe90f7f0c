"""Notes, rest, the register, orders and moves, recorded from the cart's page."""

from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.actions import register
from fleet.models import Note, Recheck, RecheckOrder
from shared import clock
from shared.models import Change, Role
from tests.fleet.cart_yard import NOW, Yard
from tests.lift_factories import a_cart, a_site, with_role
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return Yard(client)


def test_a_note_is_recorded(yard):
    yard.act("cart-note", text="seat torn")

    assert [note.text for note in Note.objects.all()] == ["seat torn"]


def test_a_cart_is_laid_up_and_woken(yard):
    Recheck.objects.filter(kind_code="fitting-close-out")
    a_round(yard.cart, by=yard.manager, at=NOW)
    yard.act("cart-lay-up", done_on="2026-04-11", reason="winter")
    rests = yard.now().condition
    yard.act("cart-wake", done_on="2026-04-11")

    assert (rests, yard.now().condition) == ("laid up", "in use")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("cart-lay-up", "Told more than 7 days late, a lay-up begins when it is told."),
        ("cart-leave", "Told more than 7 days late, work runs on until it is told."),
    ],
)
def test_a_form_says_what_comes_of_telling_it_late(yard, name, said):
    page = yard.client.get(yard.url(name)).content.decode()

    assert said in page


def test_a_cart_is_not_woken_before_it_was_laid_up(yard):
    yard.act("cart-lay-up", done_on="2026-04-10", reason="winter")

    early = yard.act("cart-wake", done_on="2026-04-09")

    assert list(early.context["form"].errors) == ["done_on"]
    assert yard.now().condition == "laid up"


def test_a_cart_woken_on_the_day_it_was_laid_up_rests_no_more(yard):
    register.lay_up(yard.cart, by=yard.manager, at=NOW - timedelta(hours=30))

    yard.act("cart-wake", done_on=f"{yard.site.day(NOW - timedelta(hours=30))}")

    assert yard.now().condition == "on stands"


def test_a_cart_is_not_laid_up_again_before_it_was_woken(yard):
    yard.act("cart-lay-up", done_on="2026-04-08")
    yard.act("cart-wake", done_on="2026-04-10")

    early = yard.act("cart-lay-up", done_on="2026-04-09")

    assert list(early.context["form"].errors) == ["done_on"]


def test_waking_a_cart_that_does_not_rest_records_nothing(yard):
    before = Change.objects.count()

    response = yard.act("cart-wake", done_on="2026-04-11")

    assert (response.url, Change.objects.count()) == (yard.url(), before)


def test_only_what_is_changed_of_the_register_is_recorded(yard):
    typed = {"number": "7", "bay": "B9", "use_class": "staff", "seats": "4"}

    yard.act("cart-register", **typed)

    change = Change.objects.latest("received_at")
    assert (change.what, change.value) == (
        "register",
        {"bay": "B9", "use_class": "staff", "seats": 4},
    )
    assert (yard.now().bay, yard.now().use_class, yard.now().seats) == ("B9", "staff", 4)


@pytest.mark.parametrize("day", ["2030-01-01", "1900-01-01"])
def test_the_insurer_is_told_on_no_day_that_cannot_be(yard, day):
    response = yard.act(
        "cart-register", number="7", use_class="rental", bay="B1", insurer_told_on=day
    )

    assert list(response.context["form"].errors) == ["insurer_told_on"]
    assert yard.now().insurer_told_on is None


def test_a_number_that_another_cart_carries_is_refused(yard):
    a_cart(yard.site, yard.manager, number="8")

    response = yard.act("cart-register", number="8", use_class="rental")

    assert "Another cart carries number 8 today." in response.content.decode()
    assert yard.now().number == "7"


def test_other_tyres_call_for_their_checks(yard):
    yard.act("cart-tyres", tyre="22x11-10", tyre_mm="22 in", done_on="2026-04-11")

    assert yard.now().tyre_mm == Decimal("558.8")
    rules = set(Recheck.objects.active().values_list("rule_code", flat=True))
    assert {"tyre-size-lugs", "tyre-size-speed", "tyre-size-brake"} <= rules


def test_a_recheck_may_be_ordered_from_today_on(yard):
    about = {"kind_code": "label-check", "reason": "asked for"}
    yard.act("cart-order", due_on="2026-04-10", **about)
    yard.act("cart-order", due_on="2026-04-11", **about)

    assert [str(order.due_on) for order in RecheckOrder.objects.all()] == ["2026-04-11"]


def test_a_cart_moves_only_to_a_site_that_its_manager_manages(yard):
    island, other = a_site("island")
    strange, _ = a_site("strange")
    with_role(island, other)
    before = yard.act("cart-move", to_site=str(strange.pk))
    member(yard.manager, island, other)
    yard.act("cart-move", to_site=str(island.pk))

    assert before.status_code == 200
    assert yard.now().site_id == island.pk


def test_without_another_site_the_page_says_what_is_missing(yard):
    island, other = a_site("island")
    alone = yard.client.get(yard.url("cart-move")).content.decode()
    member(yard.manager, island, other)
    offered = yard.client.get(yard.url("cart-move")).content.decode()

    assert ("You manage no other site" in alone, 'name="to_site"' in alone) == (True, False)
    assert ("You manage no other site" in offered, 'name="to_site"' in offered) == (False, True)


def member(person, site, by):
    site.memberships.create(person=person, role=Role.MANAGER, from_day="2026-01-01")


def test_a_day_before_the_cart_joined_is_refused(yard):
    response = yard.act("cart-lay-up", done_on="2026-01-01")

    assert "A day from 03/02/2026 to 04/11/2026." in response.content.decode()
