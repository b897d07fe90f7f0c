"""The desk's answer, and the pages that say it."""

import re
from datetime import date, datetime, timedelta
from itertools import product
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from fleet.actions import register, tags
from fleet.desk import morning_list
from fleet.desk_answer import answer
from fleet.models import Report
from shared import clock
from shared.models import Role, new_id
from shared.viewer import Viewer
from tests.factories import CartFactory, MembershipFactory, RecheckFactory, SiteFactory
from tests.lift_factories import a_cart, a_site, with_role

NOW = datetime(2026, 3, 30, 8, 30, tzinfo=ZoneInfo("America/New_York"))
TODAY = date(2026, 3, 30)
FINE = {
    "condition": "in use",
    "use_class": "rental",
    "is_tagged": False,
    "is_unproven": False,
    "states": [],
    "unrecorded_before": None,
}


@pytest.mark.parametrize(
    ("about", "goes", "reasons", "notes"),
    [
        ({}, True, (), ()),
        ({"states": ["open", "due", "ahead"]}, True, (), ()),
        ({"states": ["late", "due"]}, True, (), ("late",)),
        ({"unrecorded_before": TODAY}, True, (), ("unrecorded",)),
        ({"unrecorded_before": TODAY, "states": ["late"]}, True, (), ("late", "unrecorded")),
        ({"states": ["stopped"]}, False, ("stopped",), ()),
        ({"states": ["stopped", "late"]}, False, ("stopped",), ()),
        ({"is_tagged": True}, False, ("tagged",), ()),
        ({"is_tagged": True, "states": ["stopped"]}, False, ("tagged", "stopped"), ()),
        ({"condition": "on stands"}, False, ("on stands",), ()),
        ({"condition": "laid up"}, False, ("laid up",), ()),
        ({"condition": "laid up", "states": ["late"]}, False, ("laid up",), ()),
        ({"condition": "left"}, False, ("left",), ()),
        ({"is_unproven": True}, False, ("unproven",), ()),
        ({"is_unproven": True, "use_class": "staff"}, True, (), ()),
        ({"is_unproven": True, "use_class": "owner", "states": ["late"]}, True, (), ("late",)),
    ],
)
def test_answer(about, goes, reasons, notes):
    found = answer(**(FINE | about))

    assert (found.goes, found.reasons, found.notes) == (goes, reasons, notes)


def test_answer_never_lets_a_held_cart_go():
    for condition, tagged, unproven, stopped, use_class in product(
        ["on stands", "in use", "laid up", "left"],
        [True, False],
        [True, False],
        [True, False],
        ["rental", "staff"],
    ):
        found = answer(
            condition=condition,
            use_class=use_class,
            is_tagged=tagged,
            is_unproven=unproven,
            states=["stopped"] if stopped else ["late"],
            unrecorded_before=TODAY,
        )
        is_held = condition != "in use" or tagged or stopped
        is_held = is_held or (unproven and use_class == "rental")
        assert found.goes is not is_held
        assert bool(found.reasons) is is_held
        assert not (found.reasons and found.notes)


def test_answer_refuses_an_unknown_condition():
    with pytest.raises(ValueError, match="'in the pond'"):
        answer(**(FINE | {"condition": "in the pond"}))


@pytest.fixture
def site():
    return SiteFactory(slug="harbour")


@pytest.fixture
def desk_person(site, client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    person = MembershipFactory(site=site, role=Role.DESK).person
    client.force_login(person)
    return person


def listed(site, person):
    lines = morning_list(Viewer(person, NOW), site, TODAY)
    return [
        (line.said.cart.number, line.said.word, line.instead and line.instead.number)
        for line in lines
    ]


pytestmark = pytest.mark.django_db


def test_the_morning_list_answers_for_each_cart_of_the_fleet(site, desk_person):
    late, stopped = CartFactory(site=site, number="1"), CartFactory(site=site, number="2")
    RecheckFactory(cart=late, due_on=TODAY - timedelta(9), late_on=TODAY)
    RecheckFactory(cart=stopped, late_on=TODAY - timedelta(3), stops_on=TODAY)
    RecheckFactory(cart=CartFactory(site=site, number="3"), stops_on=TODAY, ended="closed")
    CartFactory(site=site, number="4", condition="left")
    CartFactory(number="5")

    lines = morning_list(Viewer(desk_person, NOW), site, TODAY)

    assert [(line.said.cart.number, line.said.word, line.said.why) for line in lines] == [
        ("1", "GO", "late: last hires only, then to the shop"),
        ("2", "NO", "stopped: a recheck is past its stop limit"),
        ("3", "GO", ""),
    ]


def test_the_desk_shows_the_noes_first(client, site, desk_person):
    for number, condition in (("1", "in use"), ("2", "laid up"), ("3", "in use")):
        CartFactory(site=site, number=number, condition=condition)

    lines = client.get(reverse("desk", args=[site.slug])).context["lines"]

    assert [(line.said.cart.number, line.said.word) for line in lines] == [
        ("2", "NO"),
        ("1", "GO"),
        ("3", "GO"),
    ]


def test_history_not_recorded_is_said_with_its_day(site, desk_person):
    CartFactory(site=site, unrecorded_before=date(2026, 1, 5))

    [line] = morning_list(Viewer(desk_person, NOW), site, TODAY)

    assert (line.said.word, line.said.why) == ("GO", "history before 01/05/2026 not recorded")


LIKE = {"seats": 4, "power": "lithium"}


@pytest.mark.parametrize(
    ("other", "instead"),
    [
        (LIKE, "2"),
        (LIKE | {"is_lifted": True}, None),
        (LIKE | {"seats": 2}, None),
        (LIKE | {"power": "flooded"}, None),
        (LIKE | {"use_class": "staff"}, None),
        (LIKE | {"condition": "laid up"}, None),
        (LIKE | {"unrecorded_before": TODAY}, None),
    ],
)
def test_a_plain_cart_is_offered_in_place_of_one_that_stays(site, desk_person, other, instead):
    CartFactory(site=site, number="1", is_tagged=True, is_lifted=True, **LIKE)
    CartFactory(site=site, number="2", **other)
    CartFactory(number="3", **LIKE)

    assert listed(site, desk_person)[0] == ("1", "NO", instead)


@pytest.mark.parametrize("about", [{}, {"use_class": "rental"}, LIKE | {"seats": None}])
def test_no_cart_is_offered_in_place_where_no_seats_are_known(site, desk_person, client, about):
    cart = CartFactory(site=site, number="1", is_tagged=True, is_lifted=True, **about)
    CartFactory(site=site, number="2", **about)

    page = client.get(reverse("desk-cart", args=[site.slug, cart.pk])).content.decode()

    assert listed(site, desk_person)[0] == ("1", "NO", None)
    assert "in its place" not in page


@pytest.mark.parametrize("count", [1, 40])
def test_the_desk_costs_the_same_however_many_carts(
    site, desk_person, client, count, django_assert_num_queries
):
    for cart in CartFactory.create_batch(count, site=site):
        RecheckFactory(cart=cart, late_on=TODAY)

    with django_assert_num_queries(5):
        client.get(reverse("desk", args=[site.slug]))


def test_a_number_typed_at_the_desk_opens_that_cart(site, desk_person, client):
    cart = CartFactory(site=site, number="A7")
    CartFactory(site=site, number="A70")
    CartFactory(number="A7")

    response = client.get(reverse("desk", args=[site.slug]), {"number": " a7 "})

    assert response.url == reverse("desk-cart", args=[site.slug, cart.pk])


def test_part_of_a_number_narrows_the_list(site, desk_person, client):
    for number in ("A7", "A70", "B1"):
        CartFactory(site=site, number=number)

    response = client.get(reverse("desk", args=[site.slug]), {"number": "7"})

    assert [line.said.cart.number for line in response.context["lines"]] == ["A7", "A70"]


@pytest.mark.django_db
def test_the_desk_finds_a_number_typed_with_noughts_as_a_round_does(client):
    site, manager = a_site()
    cart = a_cart(site, manager, number="7")
    client.force_login(manager)

    response = client.get(reverse("desk", args=[site.slug]), {"number": "007"})

    assert response.url == reverse("desk-cart", args=[site.slug, cart.pk])


@pytest.mark.django_db
def test_the_desk_is_told_until_when_a_cart_carried_a_number(client):
    site, manager = a_site()
    register.leave(a_cart(site, manager, number="77"), by=manager, at=NOW)
    client.force_login(manager)

    page = client.get(reverse("desk", args=[site.slug]), {"number": "77"}).content.decode()

    assert "No cart carries 77 today. One did until 03/30/2026." in page


def test_the_cart_at_the_desk_says_no_and_why_and_which_instead(site, desk_person, client):
    cart = CartFactory(site=site, number="1", is_tagged=True, **LIKE)
    CartFactory(site=site, number="2", **LIKE)

    page = client.get(reverse("desk-cart", args=[site.slug, cart.pk])).content.decode()

    assert "<strong>NO</strong>the shop has a tag on it" in page
    assert "Cart 2 may go in its place" in page


@pytest.mark.parametrize("page", ["desk", "desk-sheet"])
def test_nothing_is_called_safe(site, desk_person, client, page):
    CartFactory(site=site)

    text = client.get(reverse(page, args=[site.slug])).content.decode()

    assert re.findall(r"(?i)\b(safe|compliant|certified)\b", text) == []


@pytest.fixture
def shop(client, monkeypatch):
    """A cart made by its facts, and somebody at the desk signed in."""
    monkeypatch.setattr(clock, "now", lambda: NOW)
    site, manager = a_site(at=NOW - timedelta(days=3))
    person = with_role(site, manager, Role.DESK, at=NOW - timedelta(days=3))
    client.force_login(person)
    return a_cart(site, manager, at=NOW - timedelta(days=2), seats=4)


def send(client, cart, **typed):
    address = reverse("report-create", args=[cart.site.slug, cart.pk])
    return client.post(address, {"act": str(new_id()), **typed}, follow=True)


def test_enter_in_the_words_presses_none_of_the_buttons(shop, client):
    page = client.get(reverse("desk-cart", args=[shop.site.slug, shop.pk])).content.decode()
    form = page[page.index("/report/") :]

    # HTML, 4.10.21.2: a form whose first button is disabled is not sent by Enter
    assert re.search(r"<button[^>]*>", form).group() == "<button disabled hidden>"


@pytest.mark.parametrize("page", ["desk", "desk-cart", "desk-sheet"])
def test_the_desk_reads_what_was_reported_and_not_yet_looked_into(shop, client, page):
    send(client, shop, noticed="brake", note="pedal goes to the floor")
    args = [shop.site.slug, shop.pk] if page == "desk-cart" else [shop.site.slug]

    said = client.get(reverse(page, args=args)).content.decode()

    told = "<strong>brake</strong>, pedal goes to the floor"
    assert f'{reverse("desk-cart", args=[shop.site.slug, shop.pk])}">{shop}</a>: {told}' in said


def test_a_cart_with_a_report_takes_no_others_place(shop, client):
    manager = MembershipFactory(site=shop.site).person
    stays, other = (a_cart(shop.site, manager, number, seats=4) for number in ("8", "9"))
    tags.tag_cart(stays, "Wheel wobbles", by=manager, at=NOW)
    address = reverse("desk-cart", args=[shop.site.slug, stays.pk])

    offered = []
    for cart in (shop, other):
        offered.append(client.get(address).context["line"].instead)
        send(client, cart, noticed="brake")

    assert offered == [shop, other]
    assert client.get(address).context["line"].instead is None


def test_the_cart_at_the_desk_has_its_own_reports_alone(shop, client):
    other = a_cart(shop.site, MembershipFactory(site=shop.site).person, "8")
    send(client, other, noticed="brake")

    page = client.get(reverse("desk-cart", args=[shop.site.slug, shop.pk])).content.decode()

    assert "not yet looked into" not in page


def test_each_of_the_six_buttons_records_what_was_noticed(shop, client):
    page = client.get(reverse("desk-cart", args=[shop.site.slug, shop.pk])).content.decode()
    buttons = re.findall(r'name="noticed" value="([^"]+)"', page)
    for noticed in buttons:
        send(client, shop, noticed=noticed, note="by the pier")

    found = Report.objects.filter(cart=shop).order_by("received_at")
    assert len(buttons) == 6
    assert [(one.noticed, one.note) for one in found] == [(one, "by the pier") for one in buttons]


def test_a_second_press_records_nothing_more(shop, client):
    act = str(new_id())
    for _ in range(2):
        send(client, shop, noticed="noise", act=act)

    assert Report.objects.count() == 1


def test_a_page_sent_again_with_another_report_records_both(shop, client):
    act = str(new_id())
    for noticed in ("noise", "pulls", "pulls"):
        send(client, shop, noticed=noticed, act=act)

    assert sorted(Report.objects.values_list("noticed", flat=True)) == ["noise", "pulls"]


def test_a_page_sent_again_by_another_person_records_both(shop, client):
    act = str(new_id())
    send(client, shop, noticed="noise", act=act)
    manager = shop.site.memberships.get(role=Role.MANAGER).person
    client.force_login(with_role(shop.site, manager, Role.DESK))

    again = send(client, shop, noticed="noise", act=act)

    assert (again.status_code, Report.objects.count()) == (200, 2)


def test_a_report_of_nothing_is_refused(shop, client):
    response = send(client, shop, noticed="ghost")

    assert Report.objects.count() == 0
    assert "say what was noticed" in response.content.decode()
