"""A cart that a manager adds by hand."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import meters, register, sites
from fleet.models import Cart, CartNumber, Reading
from shared import clock
from shared.clock import noon_of
from shared.models import Change, Entry, Role, new_id
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


@pytest.fixture
def add(client, site):
    def act(**typed):
        least = {"act": str(new_id()), "joined_on": "2026-04-11", "use_class": "rental"}
        return client.post(reverse("cart-create", args=[site.slug]), {**least, **typed})

    return act


def errors(response):
    return dict(response.context["form"].errors)


def test_the_list_and_an_empty_fleet_lead_to_it(client, site, manager):
    url = reverse("cart-create", args=[site.slug])
    empty = client.get(reverse("cart-list", args=[site.slug])).content.decode()
    a_cart(site, manager)

    full = client.get(reverse("cart-list", args=[site.slug])).content.decode()

    assert (empty.count(url), full.count(url)) == (1, 1)


def test_a_number_is_enough(site, add):
    response = add(number="412")

    cart = Cart.objects.get()
    assert response.url == cart.get_absolute_url()
    assert (cart.number, cart.use_class, cart.condition) == ("412", "rental", "in use")
    assert (cart.joined_on, cart.tyre, cart.tyre_mm, cart.seats) == (
        date(2026, 4, 11),
        "",
        None,
        None,
    )
    assert not Reading.objects.exists()


def test_where_it_bears_a_lift_that_is_recorded_next(site, add):
    response = add(number="412", has_lift="on")

    cart = Cart.objects.get()
    assert response.url == reverse("fitting-create", args=[site.slug, cart.pk])


def test_all_that_is_told_is_kept(site, add):
    add(
        **{"number": "412", "serial": "HB-0412", "seats": "4", "power": "lithium"},
        **{"tyre": "22x11-10", "hours": "412.5", "distance": "1,850.0"},
        **{"area": "Marina", "bay": "B2", "colour": "sand", "model_year": "2024"},
        **{"owner_ref": "F-17", "insurer_told_on": "2026-04-01", "use_class": "shuttle"},
    )

    cart = Cart.objects.get()
    assert (cart.serial, cart.seats, cart.power, cart.use_class) == (
        *("HB-0412", 4),
        *("lithium", "shuttle"),
    )
    assert (cart.tyre, cart.tyre_mm) == ("22x11-10", Decimal("558.8"))
    assert (cart.hours_shown, cart.distance_shown, cart.distance_unit) == (
        Decimal("412.5"),
        Decimal("1850"),
        "mi",
    )
    assert (cart.area, cart.bay, cart.colour, cart.model_year) == ("Marina", "B2", "sand", 2024)
    assert (cart.owner_ref, cart.insurer_told_on) == ("F-17", date(2026, 4, 1))
    assert Reading.objects.get().typed == "412.5; 1,850.0"


def test_a_figure_in_another_unit_counts_in_that_of_the_site(site, add):
    add(number="412", distance="100 km")

    assert round(Cart.objects.get().distance_shown, 2) == Decimal("62.14")


def test_a_cart_may_have_joined_before(site, add):
    add(number="412", joined_on="2026-03-20", hours="10")

    cart = Cart.objects.get()
    assert cart.joined_on == date(2026, 3, 20)
    assert Change.objects.get(what="joined").day_only
    assert Reading.objects.get().done_at == NOW


def test_a_cart_that_is_not_there_yet_is_not_added(site, add):
    response = add(number="412", joined_on="2026-04-12")

    assert errors(response) == {"joined_on": ["A day up to today: add the cart once it is there."]}
    assert not Cart.objects.exists()


@pytest.mark.parametrize(
    ("name", "day", "said"),
    [
        ("joined_on", "0001-01-01", "A day from 1950-01-01 on, the year in full."),
        ("joined_on", "1949-12-31", "A day from 1950-01-01 on, the year in full."),
        ("insurer_told_on", "1900-01-01", "A day from 1950-01-01 on, the year in full."),
        ("insurer_told_on", "2026-04-12", "A day up to today: nothing yet to be done is recorded."),
    ],
)
def test_a_day_that_cannot_be_is_refused(site, add, name, day, said):
    response = add(number="412", **{name: day})

    assert errors(response) == {name: [said]}
    assert not Cart.objects.exists()


@pytest.mark.parametrize(
    ("left_after", "joined_on", "said"),
    [
        (None, "2026-04-11", "Another cart carries number 8 today."),
        (20, "2026-03-10", "Another cart carried number 8 until 03/22/2026: a day after that."),
    ],
)
def test_a_number_of_another_cart_is_refused(site, manager, add, left_after, joined_on, said):
    other = a_cart(site, manager, "8")
    if left_after:
        register.leave(other, by=manager, at=MORNING + timedelta(days=left_after))

    response = add(number="8", joined_on=joined_on, seats="4")

    assert errors(response) == {"number": [said]}
    assert response.context["form"]["seats"].value() == "4"
    assert Cart.objects.count() == 1


def test_a_serial_number_of_another_cart_is_refused(site, manager, add):
    a_cart(site, manager, "8", serial="HB-08")

    response = add(number="9", serial="hb-08")

    assert errors(response) == {"serial": ["Cart 8 has the serial number hb-08."]}
    assert Cart.objects.count() == 1


def test_a_cart_that_left_comes_back_as_a_cart_of_its_own(site, manager, add):
    old = a_cart(site, manager, "8", serial="HB-08")
    register.leave(old, by=manager, at=MORNING + timedelta(days=20))

    add(number="8", serial="HB-08")

    assert Cart.objects.in_fleet().get().pk != old.pk


def test_tyres_are_asked_as_on_a_carts_own_page(site, add):
    unmarked = add(number="412", tyre_mm="22 in")
    apart = add(number="412", tyre="22x11-10", tyre_mm="20 in")
    assert errors(unmarked) == {"tyre": ["Type also what is written on the tyres."]}
    assert list(errors(apart)) == ["is_sure"]

    add(number="412", tyre="22x11-10", tyre_mm="20 in", is_sure="on")

    assert Cart.objects.get().tyre_mm == Decimal("508")


def test_a_second_press_adds_no_second_cart(site, add):
    act = str(new_id())
    first = add(act=act, number="412", serial="HB-0412", hours="5")
    entries = Entry.objects.count()

    second = add(act=act, number="412", serial="HB-0412", hours="5")

    assert second.url == first.url
    assert (Cart.objects.count(), Entry.objects.count()) == (1, entries)


def test_a_page_sent_again_with_another_cart_asks_before_it_adds_that_too(site, add):
    act = str(new_id())
    add(act=act, number="40", serial="AA-40")

    asked = add(act=act, number="41", serial="AA-41")

    form = asked.context["form"]
    assert "Press again only if this is to be recorded as well." in asked.content.decode()
    assert (form["number"].value(), Cart.objects.count()) == ("41", 1)

    for _press in range(2):
        add(act=form["act"].value(), number="41", serial="AA-41")

    assert sorted(Cart.objects.values_list("number", flat=True)) == ["40", "41"]


def test_the_register_takes_no_serial_number_of_another_cart(client, site, manager):
    a_cart(site, manager, "8", serial="HB-08")
    cart = a_cart(site, manager, "9", serial="HB-09")
    url = reverse("cart-register", args=[site.slug, cart.pk])
    typed = {"act": str(new_id()), "number": "9", "use_class": "rental"}

    refused = client.post(url, {**typed, "serial": "HB-08"})
    client.post(url, {**typed, "serial": "HB-09", "bay": "B4"})

    assert errors(refused) == {"serial": ["Cart 8 has the serial number HB-08."]}
    assert Cart.objects.filter(pk=cart.pk, serial="HB-09", bay="B4").exists()


# told again


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


def test_a_number_told_wrongly_was_never_carried(site, manager, cart, again, add):
    again(number="36")

    assert Cart.objects.get(pk=cart.pk).number == "36"
    add(number="35", joined_on="2026-03-03")

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


def test_the_number_of_a_cart_that_left_today_is_free_tomorrow(site, manager, add):
    cart = a_cart(site, manager, "31", at=NOW)
    register.leave(cart, by=manager, at=NOW)

    said = "Another cart carried number 31 until today: it is free tomorrow."
    assert errors(add(number="31")) == {"number": [said]}
