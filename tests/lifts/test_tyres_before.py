"""A fitting that says other tyres of before than the register does."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import project
from fleet.actions.register import change_tyres
from fleet.models import Cart
from fleet.standing import EVERYTHING
from lifts.actions import correct_fitting, fit, fit_old
from lifts.tyre_changes import tyres_of
from shared import clock
from shared.facts import strike
from shared.models import Change, Entry, new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NOW = MORNING + 6 * DAY
SMALL, BIG = "18x8.5-8", "22x11-10"
TOLD = {"tyre_before": SMALL, "tyre_after": BIG}
TYRE_RULES = {"tyre-size-lugs", "tyre-size-speed", "tyre-size-brake"}


@pytest.fixture(autouse=True)
def now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def cart(site, manager):
    """It was added with the tyres that it has today."""
    return a_cart(site, manager, tyre=BIG, tyre_mm="558.8")


def codes(cart):
    assert project.differences([cart.pk]) == []
    return [tyres.code for tyres in tyres_of(cart.pk, EVERYTHING)]


def rules(cart):
    active = cart.rechecks.active().values_list("rule_code", flat=True)
    return {code for code in active if code.startswith("tyre-size")}


@pytest.mark.parametrize("days", [-60, 2])
def test_tyres_of_before_move_with_the_joining(client, site, manager, cart, kit, days):
    fit(cart, kit, by=manager, at=NOW, done_at=NOW - DAY, **TOLD)
    client.force_login(manager)
    day = site.day(MORNING + days * DAY)
    about = {"number": cart.number, "joined_on": day, "use_class": "rental", "reason": "slip"}
    url = reverse("cart-joining", args=[site.slug, cart.pk])

    answer = client.post(url, {"act": str(new_id()), "tyre": BIG, **about})

    assert answer.status_code == 302
    assert codes(cart) == [BIG, SMALL, BIG]
    joined, before, _after = tyres_of(cart.pk, EVERYTHING)
    assert site.day(joined.at) == day
    assert before.at - joined.at == timedelta(microseconds=1)


def test_tyres_of_before_stood_on_the_cart_since_it_joined(cart, kit, manager):
    fit(cart, kit, by=manager, at=NOW, done_at=NOW - DAY, **TOLD)

    tyres = tyres_of(cart.pk, EVERYTHING)
    assert codes(cart) == [BIG, SMALL, BIG]
    assert [one.at - MORNING < DAY for one in tyres] == [True, True, False]
    assert rules(cart) == TYRE_RULES
    assert Cart.objects.get(pk=cart.pk).tyre == BIG


def test_the_clocks_of_other_tyres_start_once_at_the_fitting(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=NOW, done_at=NOW - DAY, **TOLD)

    of_tyres = cart.rechecks.filter(rule_code__in=TYRE_RULES)
    assert of_tyres.count() == len(TYRE_RULES)
    assert {work.anchor_on for work in of_tyres} == {cart.site.day(fitting.done_at)}


def test_the_cart_page_says_which_tyres_were_before(client, cart, kit, manager):
    client.force_login(manager)
    about = {"act": str(new_id()), "done_on": "2026-03-07", "kit": str(kit.pk)}
    url = reverse("fitting-create", args=[cart.site.slug, cart.pk])

    page = client.post(url, about | TOLD | {"paperwork": "partial"}, follow=True).text

    assert "The register said other tyres of before: it says those told here now." in page
    assert "18.0 in (18x8.5-8) before; 22.0 in (22x11-10) since" in page
    assert "no other tyres are recorded" not in page
    assert "Tyres before a lift, as told with it" in page


def test_on_the_day_of_the_joining_they_stood_just_before(site, manager, kit):
    noon = clock.noon_of(site.day(MORNING), site.zone)
    when = {"done_at": noon, "day_only": True}
    cart = a_cart(site, manager, "8", at=NOW, tyre=BIG, tyre_mm="558.8")

    fit_old(cart, kit, by=manager, at=NOW, **when, **TOLD)

    assert codes(cart) == [SMALL, BIG]


def test_tyres_changed_since_the_joining_stay_until_just_before(cart, kit, manager):
    change_tyres(cart, "20x10-10", 508, by=manager, at=MORNING + DAY)

    fitting = fit(cart, kit, by=manager, at=NOW, **TOLD)

    assert codes(cart) == [BIG, "20x10-10", SMALL, BIG]
    assert tyres_of(cart.pk, EVERYTHING)[2].at == fitting.done_at - timedelta(microseconds=1)


@pytest.mark.parametrize(
    "told",
    [
        {"tyre_before": BIG, "tyre_after": "23x10.5-12"},
        {"tyre_before": "", "tyre_after": BIG},
        {"tyre_before": SMALL, "tyre_after": ""},
        {"tyre_before": "nothing to read", "tyre_after": BIG},
    ],
)
def test_what_contradicts_nothing_changes_nothing_of_before(cart, kit, manager, told):
    fit(cart, kit, by=manager, at=NOW, **told)

    assert not Change.objects.filter(what="tyres before").exists()


def test_sent_twice_it_is_told_once(cart, kit, manager):
    act = new_id()
    counts = set()
    for seconds in (0, 5):
        fit(cart, kit, by=manager, at=NOW + timedelta(seconds=seconds), id=act, **TOLD)
        counts.add(Entry.objects.count())

    assert len(counts) == 1


def test_sent_twice_the_tyres_put_on_contradict_nothing(site, kit, manager):
    cart, act = a_cart(site, manager, "8", tyre=SMALL, tyre_mm="457.2"), new_id()
    for seconds in (0, 5):
        fit(cart, kit, by=manager, at=NOW + timedelta(seconds=seconds), id=act, **TOLD)

    assert codes(cart) == [SMALL, BIG]


def test_sent_twice_what_was_taken_back_between_stays_so(cart, kit, manager):
    act, by = new_id(), {"by": manager, "at": NOW}
    fit(cart, kit, id=act, **by, **TOLD)
    strike(Change.objects.get(what="tyres before"), reason="misread", **by)
    change_tyres(cart, "20x10-10", 508, done_at=MORNING + DAY, **by)

    fit(cart, kit, id=act, **by, **TOLD)

    assert codes(cart) == [BIG, "20x10-10", BIG]


def test_tyres_put_on_are_told_once_with_those_of_before(site, kit, manager):
    cart = a_cart(site, manager, "8", tyre="20x10-10", tyre_mm="508")
    fitting = fit(cart, kit, by=manager, at=NOW - DAY, tyre_after=BIG)

    correct_fitting(fitting, kit, [], reason="found out", by=manager, at=NOW, **TOLD)

    assert codes(cart) == ["20x10-10", SMALL, BIG]
    assert Change.objects.filter(what="tyre size", cart_id=cart.pk).count() == 1


@pytest.mark.parametrize(
    ("again", "tyres"),
    [
        ({"tyre_before": "20x10-10", "tyre_after": BIG}, [BIG, "20x10-10", BIG]),
        ({"tyre_before": "", "tyre_after": BIG}, [BIG]),
        ({"tyre_before": SMALL, "tyre_after": BIG}, [BIG, SMALL, BIG]),
    ],
)
def test_told_again_the_tyres_of_before_follow(cart, kit, manager, again, tyres):
    fitting = fit(cart, kit, by=manager, at=NOW - DAY, **TOLD)

    correct_fitting(fitting, kit, [], reason="misread", by=manager, at=NOW, **again)

    assert codes(cart) == tyres


def test_told_again_with_tyres_of_before_they_are_told(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=NOW - DAY, tyre_after=BIG)

    correct_fitting(fitting, kit, [], reason="found out", by=manager, at=NOW, **TOLD)

    assert (codes(cart), rules(cart)) == ([BIG, SMALL, BIG], TYRE_RULES)
    assert Change.objects.get(what="tyres before").value["tyre_mm"] == str(Decimal("457.2"))
