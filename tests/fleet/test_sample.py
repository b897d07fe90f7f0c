"""The sample: its size, its draw, and the page that shows it as a walk."""

import hashlib
from uuid import UUID

import pytest
from django.urls import reverse

from fleet.actions import register
from fleet.actions.register import change_cart
from fleet.actions.sites import give_role
from fleet.sample import sample_of, size_of
from shared.models import Role
from tests.fleet.bundling import Fleet, on

CARTS = [UUID(int=number) for number in range(1, 105)]


@pytest.mark.parametrize(
    ("lifted", "size"),
    # 104: 10.2 + 1 = 11.2, rounded up; of one cart there are no two
    [(0, 0), (1, 1), (2, 2), (3, 3), (4, 3), (5, 4), (100, 11), (104, 12), (121, 12), (122, 13)],
)
def test_size_is_the_root_plus_one_rounded_up(lifted, size):
    assert size_of(lifted) == size


def test_draw_is_the_order_of_the_hashes():
    wanted = sorted(CARTS, key=lambda one: hashlib.sha256(f"20261125|{one}".encode()).digest())

    assert sample_of("20261125", CARTS) == wanted[:12]


def test_same_number_gives_the_same_list_however_the_carts_come():
    assert sample_of("7", reversed(CARTS)) == sample_of("7", CARTS)
    assert sample_of("8", CARTS) != sample_of("7", CARTS)


def test_draw_is_the_one_worked_with_another_tool():
    # printf '5|00000000-0000-0000-0000-00000000000N' | sha256sum
    #   N 1: fe69ed..., 2: ea28a3..., 3: 7da19b..., 4: 4dcca8...
    assert sample_of("5", CARTS[:4]) == [CARTS[3], CARTS[2], CARTS[1]]


@pytest.fixture
def fleet(db):
    return Fleet("harbour")


@pytest.fixture
def page(client, fleet):
    client.force_login(fleet.surveyor)

    def page(number=None):
        asked = {} if number is None else {"number": number}
        return client.get(reverse("sample", args=["harbour"]), asked)

    return page


def drawn(response):
    return [one.cart.number for one in response.context["drawn"].carts]


def test_page_lists_the_draw_in_the_order_of_the_walk(fleet, page):
    carts = [fleet.lifted(f"{number}", on(3, 2)) for number in range(1, 7)]
    for cart, bay in zip(carts, ("B10", "B2", "A1", "", "B2", "B1"), strict=True):
        change_cart(cart, "bay", {"area": "East", "bay": bay}, by=fleet.manager, at=on(3, 3))

    response = page("42")

    wanted = {cart.number: cart for cart in carts if cart.pk in sample_of("42", ids_of(carts))}
    bays = {"4": "", "3": "A1", "6": "B1", "2": "B2", "5": "B2", "1": "B10"}
    assert drawn(response) == [number for number in bays if number in wanted]
    assert len(wanted) == 4
    assert "Of 6 lifted carts of Harbour" in response.content.decode()
    assert "trial-kit" in response.content.decode()


def ids_of(carts):
    return [cart.pk for cart in carts]


def test_plain_ones_and_those_that_left_or_went_are_not_drawn(fleet, page):
    osprey = Fleet("osprey")
    who = {"by": osprey.manager, "at": on(3, 1)}
    give_role(osprey.site, fleet.surveyor, Role.SURVEYOR, on(3, 1).date(), None, **who)
    fleet.cart("1")
    stays, left, went = (fleet.lifted(number, on(3, 2)) for number in ("2", "3", "4"))
    register.leave(left, by=fleet.manager, at=on(3, 3))
    register.move_cart(went, osprey.site, by=fleet.manager, at=on(3, 4))
    osprey.lifted("5", on(3, 5))

    assert drawn(page("1")) == [stays.number]


@pytest.mark.parametrize("number", ["", "07", "-1", "1.5", "12a", "1" * 19, "٣"])
def test_number_that_is_none_draws_nothing(page, number):
    response = page(number)

    assert response.context["drawn"] is None
    assert response.context["form"].errors.keys() == {"number"}


def test_page_asks_first_and_states_the_rule(page):
    text = page().content.decode()

    assert "Another site, with 104 of them, would have 12 looked at." in text
    assert size_of(104) == 12
    assert "in the order of the walk, there by painted number" in text
    assert "not the operator" in text
    assert "error" not in text.split("<main")[1]


@pytest.mark.parametrize("count", [1, 3])
def test_page_costs_the_same_however_many_carts(fleet, page, count, django_assert_num_queries):
    for number in range(count):
        fleet.lifted(f"{number}", on(3, 2))
    page("3")

    with django_assert_num_queries(7):
        assert len(drawn(page("3"))) == min(count, size_of(count))
