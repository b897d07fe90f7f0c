"""The pages of a kit and of a site: how all their carts measure."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.models import CamberToeSheet
from lifts.actions import fit
from tests.alignment_factories import TurnFactory
from tests.alignment_sheets import read
from tests.camber_toe_yard import Yard
from tests.factories import MORNING, PersonFactory
from tests.spec_factories import ROD, SLEEVE, a_spec

pytestmark = pytest.mark.django_db
READY = {**dict.fromkeys(CamberToeSheet.READY, True), "floor_level": True}
OFF, MEAN = Decimal("-0.9"), Decimal("-0.3")


@pytest.fixture
def yard(client):
    return Yard(client)


def test_the_kits_page_lists_what_is_outside_and_what_cannot_be_told(yard):
    carts = {name: yard.cart(number=name) for name in ("11", "12", "13")}
    yard.sheet(carts["11"], *read(left=OFF, right=OFF, toe="3/16"))
    yard.sheet(carts["12"], *read(left=Decimal("-0.45"), right=MEAN, toe="3/16"))
    yard.sheet(carts["13"], **READY)
    yard.sheet(yard.cart(number="99", lifted=False), *read(left=OFF, right=0, toe="3/16"))

    page = yard.page("camber-toe-kit", "hx-4")

    outside, unsure = page.split('id="outside"')[1].split('id="unsure"')
    assert "Cart 11, " in outside
    mark = '<span class="verdict verdict-outside verdict-below">outside</span>'
    assert f"{mark} camber left −0.90°, {mark} camber right −0.90°" in outside
    assert "Cart 12, " in unsure.split("As found")[0]
    assert "Cart 13, " not in page
    assert "Cart 99, " not in page
    assert "Sheets: 3. Carts measured: 3 of 3." in page
    assert "1 of 3: 33 % (6 to 79 %)" in page


def put_right(found):
    """Readings of a right wheel whose camber was off, turned, and left upright."""
    turn = TurnFactory(at="right")
    after = read(right=0, toe="3/16", pass_no=2)
    return [*read(left=0, right=Decimal(found), toe="3/16"), turn, *after]


MOVED = "Camber or toe moved again after it was put right: look for a bent or worn part"


def test_the_sites_page_lists_what_moved_again_after_it_was_put_right(yard):
    again, once = yard.cart(number="11"), yard.cart(number="12")
    for cart, starts in ((again, "0"), (once, None)):
        if starts:
            yard.sheet(cart, *put_right("-0.9"), days=20, passes=2)
        yard.sheet(cart, *put_right("-0.9"), days=40, passes=2)
        yard.sheet(cart, *read(left=0, right=OFF, toe="3/16"), days=60)

    moved = yard.page("camber-toe-measured").split(MOVED)[1].split('id="outside"')[0]

    assert reverse("camber-toe-list", args=[yard.site.slug, again.pk]) in moved
    assert "outside</span> camber right −0.90°" in moved
    assert "Camber right moved −0.90° ± 0.18° since 04/11/2026" in moved
    assert "Cart 12, " not in moved


def test_what_moved_by_a_lift_that_was_put_on_did_not_move_again(yard):
    cart = yard.cart(lifted=False)
    yard.sheet(cart, *put_right("-0.9"), days=20, passes=2)
    yard.sheet(cart, *put_right("-0.9"), days=40, passes=2)
    fit(cart, yard.kit, by=yard.manager, at=MORNING + timedelta(days=50))
    yard.sheet(cart, *read(left=0, right=Decimal("-0.6"), toe="3/16"), days=60)

    assert MOVED not in yard.page("camber-toe-measured")


def test_the_sites_page_lists_what_is_inside_yet_stayed_open_with_its_reason(yard):
    light = {**READY, "usual_load": False}
    yard.sheet(yard.cart(number="11"), **light)
    yard.sheet(yard.cart(number="12"), **READY)
    yard.sheet(yard.cart(number="13"), *read(left=OFF, right=OFF, toe="3/16"), **light)

    page = yard.page("camber-toe-measured")

    left_open = page.split('id="left-open"')[1].split("</section>")[0]
    assert "Cart 11, " in left_open
    assert 'verdict-inside">inside</span> camber left +0.00°' in left_open
    assert "Left it open: without the usual load on the seat" in left_open
    assert "Cart 12, " not in left_open
    assert "Cart 13, " not in left_open


def test_the_kits_page_takes_a_cart_that_was_put_right_from_its_list(yard):
    cart = yard.cart()
    yard.sheet(cart, *read(left=OFF, right=OFF, toe="3/16"))
    yard.sheet(cart, days=30, **READY)

    page = yard.page("camber-toe-kit", "hx-4")

    assert page.count("Cart 7, ") == 0
    assert "Sheets: 2. Carts measured: 1 of 1." in page


def test_the_kits_page_lists_a_cart_by_how_it_was_left(yard):
    put_right = [
        *read(left=OFF, right=0),
        TurnFactory(),
        *read(left=0, toe="3/16", pass_no=2),
    ]
    yard.sheet(yard.cart(), *put_right, passes=2, **READY)

    page = yard.page("camber-toe-kit", "hx-4")

    assert "Cart 7, " not in page
    assert "1 of 1: 100 % (21 to 100 %)" in page


def test_the_kits_page_leaves_out_sheets_of_before_the_kit_was_on(yard):
    cart = yard.cart(lifted=False)
    yard.sheet(cart, *read(left=OFF, right=OFF, toe="3/16"), days=5)
    fit(cart, yard.kit, by=yard.manager, at=MORNING + timedelta(days=10))

    page = yard.page("camber-toe-kit", "hx-4")

    assert "Sheets: 0. Carts measured: 0 of 1." in page
    assert "Cart 7, " in yard.page("camber-toe-measured")


def test_the_page_of_a_kit_that_is_not_here_is_not_found(yard):
    answer = yard.client.get(reverse("camber-toe-kit", args=[yard.site.slug, "no-such"]))

    assert answer.status_code == 404


def test_the_kits_page_sets_what_flats_did_beside_the_formula(yard):
    a_spec(yard.site, yard.manager, MORNING, done_at=MORNING, **ROD, **SLEEVE)
    cart = yard.cart(tyre_mm="558.8")
    yard.sheet(
        cart,
        *read(left=Decimal("-1.2"), right=0),
        TurnFactory(longer_flats=Decimal(6), formula_deg=Decimal("1.2")),
        *read(left=Decimal("-0.3"), toe="3/16", pass_no=2),
        passes=2,
    )

    page = yard.page("camber-toe-kit", "hx-4")

    assert "Camber sleeve, a flat longer: camber +0.17° by the formula. " in page
    # 0.9 of 1.0252 degrees by the figures told today
    assert "One clear turn did 0.88 of it." in page
    assert "No turn on these carts was clear enough to learn from." in page


def test_the_kits_page_asks_where_the_arm_is_when_rods_moved_toe_the_other_way(yard):
    a_spec(yard.site, yard.manager, MORNING, done_at=MORNING, **ROD, **SLEEVE)
    cart = yard.cart(tyre_mm="558.8")
    for days in (20, 21, 22):
        turned = [
            TurnFactory(what="rod", at=side, longer_flats=Decimal(6)) for side in ("left", "right")
        ]
        before, after = read(left=0, right=0, toe="0"), read(toe="3/8", pass_no=2)
        yard.sheet(cart, *before, *turned, *after, passes=2, days=days)

    asked = (
        "3 turns on carts with this kit moved toe the other way than these figures say: "
        "is the arm ahead of or behind the axle?"
    )
    assert asked in yard.page("camber-toe-kit", "hx-4")
    told = {**ROD, "arm": "behind"}
    a_spec(yard.site, yard.manager, MORNING, done_at=MORNING, **told, **SLEEVE)
    assert asked not in yard.page("camber-toe-kit", "hx-4")


def test_the_newest_sheets_alone_are_counted_and_that_is_said(yard, monkeypatch):
    monkeypatch.setattr("alignment.kit_trends.MOST_SHEETS", 2)
    cart = yard.cart()
    for days in (20, 21, 22):
        yard.sheet(cart, days=days)

    page = yard.page("camber-toe-kit", "hx-4")

    assert "Sheets: 2. Carts measured: 1 of 1." in page
    assert "Only the newest" in page


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(
    ("name", "queries"),
    [("camber-toe-list", 12), ("camber-toe-kit", 21), ("camber-toe-measured", 12)],
)
def test_lists_cost_the_same_however_long(yard, name, queries, count, django_assert_num_queries):
    cart = yard.cart()
    others = [yard.cart(number=f"1{n}") for n in range(count)]
    for n, other in enumerate(others):
        first = yard.sheet(cart, days=20 + n)
        yard.sheet(cart, days=20 + n, corrects=first.pk, why_corrected="Again", by=PersonFactory())
        yard.sheet(other, days=40 + n)
    words = {"camber-toe-list": [cart.pk], "camber-toe-kit": ["hx-4"]}.get(name, [])

    with django_assert_num_queries(queries):
        yard.page(name, *words)
