"""How a cart is found for its round, and what is printed for it."""

from datetime import timedelta

import pytest

from fleet.actions import register, tags
from fleet.models import Recheck
from shared.models import Role
from tests.factories import MORNING, CartFactory
from tests.lift_factories import a_site, with_role
from tests.round_factories import a_round
from tests.round_pages import Shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(monkeypatch):
    return Shop(monkeypatch)


@pytest.fixture
def mechanic(client, shop):
    client.force_login(shop.mechanic)
    return client


def start(shop):
    return f"/{shop.site.slug}/round/"


@pytest.mark.parametrize("number", ["7", "007", " 7 "])
def test_a_number_opens_the_round_of_the_cart_that_carries_it(mechanic, shop, number):
    response = mechanic.get(start(shop), {"number": number})

    assert response["Location"] == shop.url("round-create") + "?how=typed"


def test_a_number_that_was_given_away_names_todays_cart(mechanic, shop):
    register.leave(shop.cart, by=shop.manager, at=shop.at)
    shop.later(days=2)
    unknown = mechanic.get(start(shop), {"number": "7"})
    other = shop.lifted("7")

    found = mechanic.get(start(shop), {"number": "7"})

    said = "No cart carries 7 today. One did until 03/02/2026."
    assert unknown.context["form"].errors["number"] == [said]
    assert found["Location"] == shop.url("round-create", cart=other) + "?how=typed"


def test_a_plate_opens_the_round_for_who_works_there_and_the_desks_answer(client, shop):
    address = f"/p/{shop.cart.plate}/"
    _away, their_manager = a_site("away")
    desk = with_role(shop.site, shop.manager, Role.DESK)

    anonymous = client.get(address)
    answers = []
    for person in (shop.mechanic, desk, their_manager):
        client.force_login(person)
        answers.append(client.get(address))

    assert anonymous["Location"] == f"/sign-in/?next={address}"
    assert [answer.status_code for answer in answers] == [302, 302, 404]
    assert answers[0]["Location"] == shop.url("round-create") + "?how=scanned"
    assert answers[1]["Location"] == shop.url("desk-cart")


def test_the_plate_of_a_cart_that_left_says_so_and_since_when(client, shop):
    register.leave(shop.cart, by=shop.manager, at=shop.at)
    shop.later(days=2)
    _away, their_manager = a_site("away")
    desk = with_role(shop.site, shop.manager, Role.DESK)

    answers = []
    for person in (shop.mechanic, desk, their_manager):
        client.force_login(person)
        answers.append(client.get(f"/p/{shop.cart.plate}/", follow=True))

    assert [answer.status_code for answer in answers] == [200, 200, 404]
    assert answers[0].redirect_chain[-1][0] == shop.url("cart-detail")
    assert "left the fleet" in answers[0].text
    assert "03/02/2026 – 03/02/2026" in answers[0].text
    assert "<strong>NO</strong>left the fleet on 03/02/2026" in answers[1].text


def test_a_scanned_round_says_so(mechanic, shop):
    scanned = mechanic.get(f"/p/{shop.cart.plate}/", follow=True)

    assert scanned.context["page"].visit.identified == "scanned"


def test_today_lists_due_carts_by_bay_and_open_ones_when_asked(mechanic, shop):
    other = shop.lifted("8")
    register.change_cart(other, "bay", {"bay": "A1"}, by=shop.manager, at=MORNING)
    response = mechanic.get(start(shop))

    rows = [(row.record.number, row.record.work) for row in response.context["table"].rows]

    assert rows == [("7", "Fitting close-out"), ("8", "Fitting close-out")]
    assert [row.record.place for row in response.context["table"].rows] == ["", "A1"]


def test_today_puts_the_stopped_cart_before_one_of_an_earlier_bay(mechanic, shop):
    stopped = shop.lifted("8")
    register.change_cart(stopped, "bay", {"bay": "Z9"}, by=shop.manager, at=MORNING)
    Recheck.objects.filter(cart=stopped).update(stops_on=shop.site.day(shop.at))

    table = mechanic.get(start(shop)).context["table"]

    assert [(row.record.number, row.record.state) for row in table.rows] == [
        ("8", "stopped"),
        ("7", "due"),
    ]
    assert "gravest state first" in str(table.caption)


def test_what_the_desk_reported_stands_before_the_mechanic_until_a_round(mechanic, shop):
    tags.report(shop.cart, "brake", by=shop.manager, at=shop.at, note="pedal goes to the floor")
    at_cart = shop.url("round-create")

    on_the_list = mechanic.get(start(shop)).content.decode()
    at_the_cart = mechanic.get(at_cart).content.decode()

    assert "pedal goes to the floor" in on_the_list
    assert "pedal goes to the floor" in at_the_cart
    shop.later(days=1)
    a_round(shop.cart, by=shop.manager, at=shop.at)
    assert "pedal goes to the floor" not in mechanic.get(start(shop)).content.decode()


@pytest.mark.parametrize("count", [1, 3])
def test_today_costs_the_same_however_many_carts(mechanic, shop, count, django_assert_num_queries):
    for number in range(20, 20 + count):
        shop.lifted(str(number))

    with django_assert_num_queries(6):
        response = mechanic.get(start(shop))

    assert len(response.context["table"].rows) == count + 1


def test_plates_hold_the_address_of_the_token_and_the_painted_number(mechanic, shop, monkeypatch):
    drawn = []
    monkeypatch.setattr(
        "fleet.views.plates.qr_svg", lambda content, title: drawn.append(content) or "<svg></svg>"
    )
    CartFactory(number="7")  # at another site

    response = mechanic.get(f"/{shop.site.slug}/plates/", {"numbers": "7, 99"})

    assert drawn == [f"http://127.0.0.1:8000/p/{shop.cart.plate}/"]
    shown = response.content.decode()
    assert shown.count("<strong>7</strong>") == 2
    assert (shown.count("<small>dash"), shown.count("<small>rear frame")) == (1, 1)


def test_a_round_sheet_lists_the_joints_in_walking_order_with_boxes(mechanic, shop):
    response = mechanic.get(shop.url("round-sheet"))

    joints = response.context["steps"][0]
    names = [joint["name"] for joint in joints_of(shop)]
    assert [line.label for line in joints["lines"]] == names
    assert {line.choices[:5] for line in joints["lines"]} == {
        ("FIRM", "TOOK UP", "SLACK", "GONE", "NOT REACHED")
    }
    assert response.content.count(b'class="qr"') == 1


def joints_of(shop):
    return shop.kit.joints.order_by("place").values("name")


def test_a_cart_without_a_lift_has_a_round_of_its_meters(mechanic, shop):
    plain = register.join_cart(shop.site, {"number": "30"}, by=shop.manager, at=shop.at)
    page = mechanic.get(shop.url("round-create", cart=plain)).context["page"]

    saved = shop.sent(mechanic, page, hours="12.5")

    assert page.steps == []
    assert saved.status_code == 302
    assert mechanic.get(saved["Location"]).context["result"].left == []


def test_the_clock_of_a_new_site_has_nobody_called(client):
    site, manager = a_site("empty", at=MORNING - timedelta(days=1))
    client.force_login(manager)

    response = client.get(f"/{site.slug}/round/")

    assert b"No cart is due today." in response.content
