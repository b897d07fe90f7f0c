"""Sister carts: who shares what with a cart, and a recheck for all of them in one act."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions.corrections import correct_round
from fleet.actions.meters import add_reading
from fleet.actions.register import change_cart
from fleet.actions.rounds import TakenDown
from fleet.actions.tags import tag_cart
from fleet.models import Recheck, RecheckOrder, Round, Tag
from lifts.actions import fit, remove_lift
from lifts.models import Fitting, JointPart
from lifts.sisters import Sisters
from shared import clock
from shared.models import Role, new_id
from tests.factories import MORNING
from tests.found_out_factories import a_joint_round, a_look
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.lifts.test_found_out import cut, on
from tests.round_factories import Told
from tests.wrench_factories import a_good_wrench

pytestmark = pytest.mark.django_db
NOW, FITTED_AT = on(8, 6), on(1, 4)
FITTED = {"fitted_by": "Ann  Reed", "firm": "Reed & Co", "u_bolt_batch": "B-77"}
NOBODY = {"fitted_by": "", "firm": "", "u_bolt_batch": ""}


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def wrench(site, manager):
    return a_good_wrench(site, manager)


@pytest.fixture
def other_kit(site, manager):
    return a_kit(site, manager, code="other-kit", name="Other kit")


@pytest.fixture
def fitted(cart, kit, manager):
    fit(cart, kit, by=manager, at=MORNING, **FITTED)
    return cart


def lifted(site, manager, kit, number, at=FITTED_AT, **about):
    cart = a_cart(site, manager, number=number, at=at)
    fit(cart, kit, by=manager, at=at, done_at=at, **{**NOBODY, **about})
    return cart


def shares(cart):
    """Return {number: what it shares} of all carts that share anything."""
    found = Sisters(cart, cut(NOW))
    codes = [trait.code for trait, _words, _count in found.traits()]
    return {one.number: words for one, words in found.sharing(codes)}


def the_frame(kit):
    return kit.joints.get(name="front frame")


def test_each_way_of_sharing_is_found_and_nothing_else(
    site, manager, kit, other_kit, fitted, wrench
):
    mechanic = with_role(site, manager)
    a_joint_round(fitted, mechanic, on(20, 5), a_look(the_frame(kit), wrench))
    lifted(site, manager, kit, "kit")
    lifted(site, manager, other_kit, "batch", u_bolt_batch=" b-77 ")
    lifted(site, manager, other_kit, "fitter", fitted_by="ann reed")
    lifted(site, manager, other_kit, "firm", firm="REED & CO")
    lifted(site, manager, other_kit, "fitted week", at=MORNING + timedelta(days=4))
    lifted(site, manager, other_kit, "none")
    elsewhere = a_good_wrench(site, manager, name="TW-2")
    joint = the_frame(other_kit)
    for number, by, at, tool in (
        ("wrench", manager, on(2, 4), wrench),
        ("mechanic", mechanic, on(3, 4), elsewhere),
        ("round week", manager, on(24, 5, 23), elsewhere),
        ("week after", manager, on(25, 5, 0), elsewhere),
        ("week before", manager, on(17, 5, 23), elsewhere),
    ):
        cart = lifted(site, manager, other_kit, number)
        a_joint_round(cart, by, at, a_look(joint, tool), told_at=at)

    assert shares(fitted) == {
        "kit": ["Kit trial-kit"],
        "batch": ["U-bolt batch B-77"],
        "fitter": ["Fitted by Ann  Reed"],
        "firm": ["Fitted by the firm Reed & Co"],
        "wrench": ["Wrench TW-1"],
        "mechanic": [f"Mechanic {mechanic}"],
        "fitted week": ["Fitted in the week of 03/02/2026"],
        "round week": ["Joints gone round in the week of 05/18/2026"],
    }


def test_what_was_not_recorded_is_shared_by_nobody(site, manager, kit, other_kit):
    bare = lifted(site, manager, kit, "1", at=MORNING)
    lifted(site, manager, other_kit, "2")

    assert shares(bare) == {}
    plain = a_cart(site, manager, number="3")
    assert Sisters(plain, cut(NOW)).traits() == []


def test_only_lifts_that_are_on_and_carts_in_the_fleet_count(site, manager, kit, fitted):
    bare, gone = (lifted(site, manager, kit, number) for number in ("bare", "gone"))
    lifted(site, manager, kit, "here")
    a_cart(site, manager, number="plain")
    other, its_manager = a_site("hills")
    lifted(other, its_manager, a_kit(other, its_manager), "elsewhere", **FITTED)
    remove_lift(Fitting.objects.get(cart=bare), "plain again", by=manager, at=on(1, 5))
    change_cart(gone, "left", {}, reason="Sold", by=manager, at=on(1, 5))

    assert set(shares(fitted)) == {"here"}
    assert set(shares(bare)) == {"7", "here"}  # by the lift that it had


def test_work_before_the_present_lift_is_not_of_it(site, manager, kit, other_kit, fitted, wrench):
    a_joint_round(fitted, manager, on(20, 5), a_look(the_frame(kit), wrench))
    again = lifted(site, manager, kit, "again")
    a_joint_round(again, manager, on(2, 4), a_look(the_frame(kit), wrench))
    assert "Wrench TW-1" in shares(fitted)["again"]

    fit(again, other_kit, by=manager, at=on(1, 6), done_at=on(1, 6), **NOBODY)
    assert shares(fitted) == {}


def test_a_mechanic_is_who_told_a_round_first(site, manager, kit, other_kit, fitted, wrench):
    mechanic = with_role(site, manager)
    other = lifted(site, manager, other_kit, "other")
    elsewhere = a_good_wrench(site, manager, name="TW-2")
    a_joint_round(fitted, mechanic, on(20, 4), a_look(the_frame(kit), wrench))
    first = a_joint_round(other, mechanic, on(2, 5), a_look(the_frame(other_kit), elsewhere))
    row = Round.objects.get(pk=first.round_id)
    part = JointPart(stage="recurring", offered=["other-joints"])
    taken = TakenDown(
        id=new_id(),
        opened_at=row.opened_at,
        done_at=row.done_at,
        parts=[(Told("joints", part, [a_look(the_frame(other_kit), elsewhere)]), None)],
        corrects=row.pk,
        why_corrected="another wrench",
    )
    correct_round(row, taken, by=manager, at=on(3, 5))

    assert shares(fitted) == {"other": [f"Mechanic {mechanic}"]}


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_costs_the_same_however_many_carts(
    client, site, manager, kit, fitted, wrench, count, django_assert_num_queries
):
    a_joint_round(fitted, manager, on(20, 5), a_look(the_frame(kit), wrench))
    for number in range(count):
        cart = lifted(site, manager, kit, f"{number}", **FITTED)
        a_joint_round(cart, manager, on(20, 5), a_look(the_frame(kit), wrench))
    client.force_login(manager)
    client.get(url(fitted, "kit:trial-kit"))

    with django_assert_num_queries(QUERIES):
        page = client.get(url(fitted, "kit:trial-kit")).content.decode()

    assert page.count("Wrench TW-1;") == count


QUERIES = 31


def url(cart, *by, name="sister-list", **more):
    query = "&".join([f"by={one}" for one in by])
    return f"{reverse(name, args=[cart.site.slug, cart.pk])}?{query}"


def pressed(client, cart, ticked, *by, **more):
    sent = {
        "act": ACT,
        "kind_code": "short-check",
        "due_on": "2026-06-10",
        "reason": "U-bolts of that batch",
        "cart": [one.pk for one in ticked],
        **more,
    }
    return client.post(url(cart, *by, name="sister-order"), sent)


ACT = new_id()


def ordered():
    orders = RecheckOrder.objects.order_by("cart__number")
    return [(one.cart.number, one.kind_code, one.stops) for one in orders]


def test_the_page_lists_what_each_shares_its_use_state_and_rechecks(
    client, site, manager, kit, fitted
):
    sister = lifted(site, manager, kit, "8", **FITTED)
    for day, hours in ((on(2, 4), "100"), (on(2, 5), "112.5")):
        shown = {"hours": Decimal(hours), "typed": hours}
        add_reading(sister, at=day, done_at=day, by=manager, **shown)
    tag_cart(sister, "Wheel loose", by=manager, at=on(2, 5))
    client.force_login(manager)

    nothing = client.get(url(fitted)).content.decode()
    page = client.get(url(fitted, "batch:b-77")).content.decode()

    assert "Cart 8" not in nothing
    assert "U-bolt batch B-77 <small>1 other cart</small>" in nothing
    for words in ("Cart 8", "Kit trial-kit; U-bolt batch B-77; Fitted by Ann  Reed", "12.5 h"):
        assert words in page, words
    assert "NO: " in page
    assert " open" in page


def test_a_meter_read_once_since_the_fitting_tells_of_no_use(client, site, manager, kit, fitted):
    sister = lifted(site, manager, kit, "8", **FITTED)
    add_reading(sister, at=on(2, 4), by=manager, hours=Decimal(100), typed="100")
    client.force_login(manager)

    page = client.get(url(fitted, "batch:b-77")).text

    assert "not known" in page
    assert "0.0 h" not in page


def test_one_press_orders_for_all_that_are_ticked(client, site, manager, kit, fitted):
    eight, nine, ten = (lifted(site, manager, kit, n, **FITTED) for n in ("8", "9", "10"))
    stranger = lifted(site, manager, kit, "11")
    client.force_login(manager)

    pressed(client, fitted, [eight, nine, stranger], "batch:b-77", stops="on")

    assert ordered() == [("8", "short-check", True), ("9", "short-check", True)]
    [reason] = set(RecheckOrder.objects.values_list("reason", flat=True))
    assert reason == "Sister of cart 7 (U-bolt batch B-77): U-bolts of that batch"
    active = Recheck.objects.active().filter(rule_code="ordered")
    assert set(active.values_list("cart", flat=True)) == {eight.pk, nine.pk}
    assert ten.pk not in active.values_list("cart", flat=True)


def test_the_same_page_pressed_twice_orders_once(client, site, manager, kit, fitted):
    eight = lifted(site, manager, kit, "8", **FITTED)
    client.force_login(manager)
    pressed(client, fitted, [eight], "batch:b-77")

    again = pressed(client, fitted, [eight], "batch:b-77")
    other = pressed(client, fitted, [eight], "batch:b-77", reason="Another")

    assert (again.status_code, other.status_code) == (302, 200)
    assert "This page was recorded before" in other.content.decode()
    assert RecheckOrder.objects.count() == 1


@pytest.mark.parametrize(
    ("ticked", "more", "said"),
    [
        (False, {}, "No cart is ticked"),
        (True, {"reason": ""}, "This field is required"),
        (True, {"due_on": "2026-06-07"}, "A day from today on, within a year"),
        (True, {"kind_code": "joint-look"}, "Select a valid choice"),
    ],
)
def test_a_page_that_says_too_little_orders_nothing(
    client, site, manager, kit, fitted, ticked, more, said
):
    eight = lifted(site, manager, kit, "8", **FITTED)
    client.force_login(manager)

    answer = pressed(client, fitted, [eight] if ticked else [], "batch:b-77", **more)

    assert said in answer.content.decode()
    assert RecheckOrder.objects.count() == 0


def test_many_come_page_by_page_and_one_press_takes_all(
    client, site, manager, kit, fitted, monkeypatch
):
    monkeypatch.setattr("lifts.views.sisters.CARTS_A_PAGE", 1)
    for number in ("8", "9"):
        lifted(site, manager, kit, number, **FITTED)
    client.force_login(manager)

    page = client.get(url(fitted, "batch:b-77")).content.decode()
    assert ("Cart 8<" in page, "Cart 9<" in page, "Page 1 of 2" in page) == (True, False, True)

    pressed(client, fitted, [], "batch:b-77", all="yes")
    assert [number for number, *_ in ordered()] == ["8", "9"]


def test_a_cart_a_tag_and_a_round_that_tagged_lead_to_its_sisters(
    client, site, manager, kit, fitted, wrench
):
    slack = a_look(kit.joints.get(name="left front lugs"), wrench, "slack", right_after=False)
    part = a_joint_round(fitted, manager, on(20, 5), slack)
    tag = Tag.objects.get(cart=fitted)
    pages = (
        fitted.get_absolute_url(),
        reverse("hand-back", args=[site.slug, tag.pk]),
        reverse("round-detail", args=[site.slug, fitted.pk, part.round_id]),
    )
    way = reverse("sister-list", args=[site.slug, fitted.pk])
    client.force_login(manager)
    assert [way in client.get(page).content.decode() for page in pages] == [True] * 3

    client.force_login(with_role(site, manager, Role.MECHANIC))
    assert [way in client.get(pages[place]).content.decode() for place in (0, 2)] == [False] * 2
