"""How a cart joined the fleet, told again where it was told wrongly."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import meters, register, sites
from fleet.models import Cart, CartNumber
from shared import clock
from shared.clock import noon_of
from shared.models import Change, Role, new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=40)  # 04/11/2026


@pytest.fixture
def site(client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    site, manager = a_site()
    client.force_login(manager)
    return site


@pytest.fixture
def manager(site):
    return site.memberships.get().person


def errors(response):
    return dict(response.context["form"].errors)


@pytest.fixture
def cart(site, manager):
    """In the fleet since 03/02/2026, which is the day of MORNING."""
    told = {"tyre": "18x8.5-8", "tyre_mm": "457.2", "use_class": "rental", "serial": "HB-35"}
    return a_cart(site, manager, "35", **told)


@pytest.fixture
def again(client, site, cart):
    url = reverse("cart-joining", args=[site.slug, cart.pk])
    first = client.get(url).context["form"]

    def act(**typed):
        shown = {field.name: field.value() for field in first}
        least = {**shown, "act": str(new_id()), "reason": "read wrongly"}
        return client.post(url, {**least, **typed})

    return act


def test_the_form_begins_with_what_was_told(client, site, cart):
    form = client.get(reverse("cart-joining", args=[site.slug, cart.pk])).context["form"]

    shown = {field.name: field.value() for field in form if field.name != "act"}
    assert shown == {
        "number": "35",
        "joined_on": date(2026, 3, 2),
        "use_class": "rental",
        "tyre": "18x8.5-8",
        "tyre_mm": "",
        "reason": None,
    }


def test_a_number_told_wrongly_was_never_carried(site, manager, cart, again):
    again(number="36")

    assert Cart.objects.get(pk=cart.pk).number == "36"
    joined_at = noon_of(date(2026, 3, 3), site.zone)
    register.join_cart(site, {"number": "35"}, by=manager, at=NOW, done_at=joined_at)

    spans = CartNumber.objects.filter(site=site).values_list("number", "from_day", "to_day")
    assert sorted(spans) == [("35", date(2026, 3, 3), None), ("36", date(2026, 3, 2), None)]


def test_what_has_changed_since_stays(site, manager, cart, again):
    register.change_cart(cart, "bay", {"bay": "B4"}, by=manager, at=MORNING + timedelta(days=5))

    again(number="36", use_class="shuttle")

    now = Cart.objects.get(pk=cart.pk)
    assert (now.number, now.use_class, now.bay, now.serial) == ("36", "shuttle", "B4", "HB-35")
    assert now.plate == cart.plate


def test_tyres_told_wrongly_call_for_no_check(cart, again):
    again(tyre="20x10-10")

    now = Cart.objects.get(pk=cart.pk)
    assert (now.tyre, now.tyre_mm) == ("20x10-10", Decimal("508"))
    assert not now.rechecks.exists()
    joined = Change.objects.standing().get(cart_id=cart.pk, what="joined")
    assert joined.value["diameter_from"] == "the marked size"


def test_a_cart_may_have_joined_earlier(cart, again):
    again(joined_on="2026-02-01")

    now = Cart.objects.get(pk=cart.pk)
    assert now.joined_on == date(2026, 2, 1)
    assert now.numbers.get().from_day == date(2026, 2, 1)


def test_it_did_not_join_after_something_was_told_of_it(site, manager, cart, again):
    at = MORNING + timedelta(days=3, hours=-6)
    meters.add_reading(cart, hours=Decimal(5), by=manager, at=at)

    refused = again(joined_on="2026-03-06")
    kept = again(joined_on="2026-03-05")

    said = "A day up to 03/05/2026: something is told of the cart that day."
    assert errors(refused) == {"joined_on": [said]}
    assert kept.status_code == 302
    joined = Change.objects.standing().get(cart_id=cart.pk, what="joined")
    assert joined.done_at < at
    assert Cart.objects.get(pk=cart.pk).joined_on == date(2026, 3, 5)


def test_what_lay_before_the_joining_holds_it_to_nothing(site, manager, cart, again):
    """As the fitting of an old lift, or a meter read elsewhere."""
    at = MORNING - timedelta(days=900)
    meters.add_reading(cart, hours=Decimal(5), by=manager, at=NOW, done_at=at)

    again(joined_on="2026-01-15")

    assert Cart.objects.get(pk=cart.pk).joined_on == date(2026, 1, 15)
    joined = Change.objects.standing().get(cart_id=cart.pk, what="joined")
    assert joined.done_at == noon_of(date(2026, 1, 15), site.zone)


def test_tyres_that_nobody_can_read_stay_as_they_were_told(site, manager, client):
    cart = a_cart(site, manager, "36", tyre="stock turf")
    url = reverse("cart-joining", args=[site.slug, cart.pk])
    told = {"act": str(new_id()), "joined_on": "2026-03-02", "use_class": "rental"}

    client.post(url, {**told, "number": "37", "tyre": "stock turf", "reason": "read wrongly"})

    now = Cart.objects.get(pk=cart.pk)
    assert (now.number, now.tyre, now.tyre_mm) == ("37", "stock turf", None)


def test_the_id_of_what_stands_is_no_second_press(client, site, cart):
    url = reverse("cart-joining", args=[site.slug, cart.pk])
    joined = Change.objects.get(cart_id=cart.pk, what="joined")

    answer = client.post(url, {"act": str(joined.pk), "number": "36"})

    assert answer.status_code == 200


def test_a_number_that_another_carried_then_is_refused(site, manager, cart, again):
    a_cart(site, manager, "8")

    assert errors(again(number="8")) == {"number": ["Another cart carries number 8 today."]}


def test_a_number_that_another_carries_since_this_one_does_not_stays(site, manager, cart, again):
    change = {"by": manager, "at": MORNING + timedelta(days=5)}
    register.change_cart(cart, "number", {"number": "70"}, **change)
    a_cart(site, manager, "35", at=MORNING + timedelta(days=6))

    again(tyre="20x10-10")

    assert Cart.objects.get(pk=cart.pk).tyre == "20x10-10"


def test_nothing_changed_is_no_telling(cart, again):
    assert errors(again()) == {"__all__": ["Nothing is changed here."]}


def test_a_measured_diameter_stays_as_it_was_typed(site, manager, client):
    told = {"tyre": "22x11-10", "tyre_mm": "545.5"}
    cart = a_cart(site, manager, "36", **told)
    url = reverse("cart-joining", args=[site.slug, cart.pk])

    form = client.get(url).context["form"]

    assert form["tyre_mm"].value() == "545.5 mm"


def test_a_joining_told_again_is_told_once_and_the_first_stays_readable(client, cart, again):
    act = str(new_id())
    for _press in range(2):
        assert again(act=act, number="36").status_code == 302

    told = Change.objects.filter(cart_id=cart.pk, what="joined").order_by("received_at")
    assert [one.value["number"] for one in told] == ["35", "36"]
    assert "read wrongly" in client.get(cart.get_absolute_url()).content.decode()


def test_what_it_joined_as_at_another_site_is_not_told_again_here(client, site, manager, cart):
    there = a_site("quay")[0]
    sites.give_role(there, manager, Role.MANAGER, there.day(NOW), None, by=manager, at=NOW)
    register.move_cart(cart, there, by=manager, at=NOW)
    url = reverse("cart-joining", args=[there.slug, cart.pk])
    typed = {"number": "36", "joined_on": "2026-03-02", "use_class": "rental", "reason": "typo"}

    page = client.get(url).content.decode()
    client.post(url, {**typed, "act": str(new_id())})

    assert "It joined at another site: only its manager tells that again." in page
    assert Change.objects.filter(cart_id=cart.pk, what="joined").count() == 1
