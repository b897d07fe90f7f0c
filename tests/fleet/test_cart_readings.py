"""Readings and changed meters, recorded from the cart's page."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.models import MeterFitted, Reading
from shared import clock
from shared.models import new_id
from tests.fleet.cart_yard import NOW, Yard
from tests.lift_factories import with_role
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return Yard(client)


def read(yard, **typed):
    return yard.act("reading-create", **typed)


def test_a_reading_is_recorded_in_the_meters_own_unit(yard):
    response = read(yard, hours="450.5", distance="3,000 km")

    reading = Reading.objects.latest("received_at")
    assert response.url == yard.url()
    assert (reading.hours_shown, reading.distance_shown) == (Decimal("450.5"), Decimal("1864.114"))
    assert reading.typed == "450.5; 3,000 km"
    assert yard.now().hours_shown == Decimal("450.5")


@pytest.mark.parametrize(
    ("typed", "answer", "kept"),
    [
        ({"hours": "440"}, "", 2),
        ({"hours": "440"}, "right", 2),
        ({"hours": "440"}, "slip", 2),
        ({"hours": "440"}, "changed", 2),
        ({"hours": "440"}, "other cart", 2),
        ({"hours": "440"}, "rolled", 3),
        ({"hours": "900"}, "", 2),
        ({"hours": "900"}, "right", 2),
        ({"hours": "620"}, "", 2),
        ({"hours": "620"}, "right", 3),
    ],
)
def test_a_doubted_reading_asks_one_question_first(yard, typed, answer, kept):
    response = read(yard, **typed, why=answer)

    assert Reading.objects.count() == kept
    if not answer:
        assert "Why?" in response.content.decode()


def test_a_changed_meter_leads_to_the_meters_form(yard):
    assert read(yard, hours="3", why="changed").url == yard.url("cart-meter")


def test_a_reading_that_was_rolled_over_is_kept_so(yard):
    read(yard, hours="440", why="rolled")

    assert Reading.objects.latest("received_at").hours_rolled


def test_a_reading_of_nothing_is_refused(yard):
    response = read(yard)

    assert Reading.objects.count() == 2
    assert "Type what one of the meters shows." in response.content.decode()


def test_the_same_reading_sent_twice_is_one(yard):
    typed = {"hours": "450", "act": str(new_id())}
    for _ in range(2):
        yard.client.post(yard.url("reading-create"), typed)

    assert Reading.objects.count() == 3


def test_a_meter_changed_is_recorded_with_both_figures(yard):
    yard.act(
        "cart-meter",
        measure="hours",
        start_shown="0.0",
        old_final="450.0",
        done_on="2026-04-11",
    )

    meter = MeterFitted.objects.latest("received_at")
    assert (meter.unit, meter.start_shown, meter.old_final) == ("h", 0, 450)
    assert (yard.now().hours_shown, yard.now().hours_life) == (0, 450)


CHANGED = {"measure": "hours", "start_shown": "0.0", "done_on": "2026-04-11"}


@pytest.mark.parametrize(
    ("old_final", "said"),
    [
        ("44.60", "44.6 h is less than the 446.0 h read last. Why?"),
        ("4460", "From 446.0 h to 4,460 h there was not time enough. Why?"),
    ],
)
def test_an_old_meter_cannot_end_where_it_never_came_to(yard, old_final, said):
    answer = yard.act("cart-meter", **CHANGED, old_final=old_final)

    mend = "Take a wrong reading back first, or leave this empty."
    assert answer.context["form"].errors == {"old_final": [said, mend]}
    assert (yard.now().hours_shown, MeterFitted.objects.count()) == (446, 2)


def test_a_questioned_figure_sent_twice_is_one(yard):
    act, before = str(new_id()), Reading.objects.count()
    answers = [read(yard, act=act, hours="640", why="right") for _press in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert Reading.objects.count() == before + 1
    assert Reading.objects.get(pk=act).doubted == "questioned"


def test_a_page_sent_again_with_another_figure_asks_before_it_records_that_too(yard):
    act, before = str(new_id()), Reading.objects.count()
    read(yard, act=act, hours="450.5")

    asked = read(yard, act=act, hours="451")
    read(yard, act=asked.context["form"]["act"].value(), hours="451")

    assert "Press again only if this is to be recorded as well." in asked.content.decode()
    assert Reading.objects.count() == before + 2


def test_where_the_figure_before_was_wrong_it_is_taken_back_first(yard):
    wrong = Reading.objects.latest("done_at")

    led = read(yard, hours="440", why="earlier wrong")

    assert led.url == reverse("entry-strike", args=[yard.site.slug, yard.cart.pk, wrong.pk])
    yard.client.post(led.url, {"reason": "a slip"})
    read(yard, hours="440")
    assert yard.now().hours_shown == Decimal("440")


def test_a_wrong_figure_of_a_round_leads_to_its_round(yard):
    saved = a_round(yard.cart, by=yard.manager, at=NOW - timedelta(days=1), hours=Decimal(900))

    led = read(yard, hours="470", why="earlier wrong")

    assert led.url == reverse("round-detail", args=[yard.site.slug, yard.cart.pk, saved.round.pk])


def test_a_mechanic_is_told_who_takes_a_wrong_figure_back(yard):
    yard.client.force_login(with_role(yard.site, yard.manager))
    before = Reading.objects.count()

    page = yard.client.get(read(yard, hours="440", why="earlier wrong").url).content.decode()

    assert "a manager first takes back the wrong figure" in page
    assert Reading.objects.count() == before


def test_a_change_of_meter_sent_twice_is_one_and_refused_neither_time(yard):
    typed = CHANGED | {"old_final": "450.0", "act": str(new_id())}

    answers = [yard.client.post(yard.url("cart-meter"), typed) for _again in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert MeterFitted.objects.count() == 3


def test_an_old_meter_is_not_held_against_what_the_new_one_showed(yard):
    yard.act("cart-meter", **CHANGED)
    forgotten = CHANGED | {"done_on": "2026-04-01", "old_final": "448.0"}

    assert yard.act("cart-meter", **forgotten).status_code == 302


def test_a_cart_that_left_keeps_its_page_and_takes_nothing_more(yard):
    yard.act("cart-leave", done_on="2026-04-11", reason="sold")
    before = Reading.objects.count()
    read(yard, hours="450")

    page = yard.page()
    assert page.context["said"].why == "left the fleet"
    assert page.context["acts"] == []
    assert Reading.objects.count() == before
