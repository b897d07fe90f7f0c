"""A round moved to the right cart: what its parts carried of the wrong one is copied in anew."""

from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.actions.corrections import move_round
from fleet.actions.register import change_tyres
from fleet.models import Cart, Tag
from lifts.actions import fit
from lifts.actions.speed_classes import claim_class, set_usual
from lifts.looks import Before
from lifts.models import BrakeCheck, GreasePart, JointPart, Lacks, Look, SpeedRun
from lifts.parts.joint_looks import move_look
from lifts.parts.speed import Speed
from shared.facts import OtherBody, strike
from shared.models import Entry
from tests.factories import MORNING
from tests.lift_factories import a_cart
from tests.lifts.test_brake import DAY, FOUR_TENTHS, GOOD, HALF_G, THREE_TENTHS, braked
from tests.round_pages import Shop

pytestmark = pytest.mark.django_db
FAST = {"speed-time_1_s": "10", "speed-time_2_s": "10"}  # 400 ft in 10 s is 27 mph
FLORIDA = "golf-cart-florida"
# what may be left out is left out
THREE_ASKED = {
    "brake-is_pedal_low": "no",
    "brake-holds_on_slope": "yes",
    "brake-cable_free": "yes",
}


@pytest.fixture
def shop(monkeypatch):
    shop = Shop(monkeypatch)
    shop.other = shop.lifted("8")
    shop.later(days=1)
    shop.who = {"by": shop.manager, "at": shop.at, "reason": "Board decision 12"}
    shop.later(hours=1)
    return shop


def moved(shop, row):
    shop.later(hours=1)
    return move_round(row, shop.other, reason="It was the 8", by=shop.manager, at=shop.at)


def round_of(shop, client, cart=None, **changes):
    page = shop.opened(client, cart=cart)
    assert shop.sent(client, page, **changes).status_code == 302
    shop.later(hours=1)
    return SpeedRun.objects.latest("received_at").round


def standing(shop, model, cart):
    return model.objects.standing(shop.at).filter(cart=cart)


def test_a_moved_speed_run_is_judged_by_the_tyres_and_class_of_its_cart(client, shop):
    set_usual(shop.site, FLORIDA, True, **shop.who)
    claim_class(shop.other, "none", **shop.who)
    change_tyres(shop.other, "20x10-10", "508", by=shop.manager, at=shop.who["at"])
    row = round_of(shop, client, **FAST)
    assert standing(shop, Tag, shop.cart).count() == 1

    moved(shop, row)

    run = standing(shop, SpeedRun, shop.other).get()
    assert (run.tyre_mm, run.class_code, run.limit_inch_kmh) == (Decimal(508), "", None)
    assert not standing(shop, Tag, shop.other).exists()
    assert not standing(shop, Tag, shop.cart).exists()
    assert not Cart.objects.get(pk=shop.cart.pk).is_tagged


def test_a_run_over_the_class_of_the_right_cart_tags_that_one(client, shop):
    set_usual(shop.site, FLORIDA, True, **shop.who)
    claim_class(shop.cart, "none", **shop.who)
    row = round_of(shop, client, **FAST)
    assert not Tag.objects.exists()

    moved(shop, row)

    assert standing(shop, Tag, shop.other).get().reason.startswith("Over its speed class")
    assert Cart.objects.get(pk=shop.other.pk).is_tagged


def test_a_run_of_before_the_classes_stays_without_one(client, shop):
    row = round_of(shop, client)
    run = SpeedRun.objects.get()
    set_usual(shop.site, FLORIDA, True, **shop.who)
    old = SpeedRun(cart=shop.cart, class_code=None)
    fact = SpeedRun(cart=shop.other, class_code=None, done_at=run.done_at)

    Speed().moved(old, fact, [], shop.other, shop.at)

    assert (row.pk, fact.class_code, fact.tyre_mm) == (run.round_id, None, None)


def test_the_same_move_again_is_the_same_act_and_another_is_refused(client, shop):
    claim = change_tyres(shop.other, "20x10-10", "508", by=shop.manager, at=shop.who["at"])
    row = round_of(shop, client)
    first = moved(shop, row)
    count = Entry.objects.count()
    strike(claim, reason="No", by=shop.manager, at=shop.at)

    again = moved(shop, row)

    assert (again.pk, Entry.objects.count()) == (first.pk, count + 1)
    with pytest.raises(OtherBody):
        move_round(row, shop.other, reason="Another", by=shop.manager, at=shop.at)


def test_looks_count_on_from_those_at_the_right_cart(client, shop):
    u_bolts = shop.kit.joints.get(name="left U-bolts")
    slack = {f"joints-found-{u_bolts.pk}": "slack", f"joints-right-{u_bolts.pk}": "yes"}
    round_of(shop, client, shop.other, **slack)
    row = round_of(shop, client, **slack)

    moved(shop, row)

    looks = Look.objects.filter(name="left U-bolts").order_by("fact__received_at")
    assert [look.loose_before for look in looks] == [0, 0, 1]
    again = Tag.objects.standing(shop.at).filter(cart=shop.other).latest("received_at")
    assert again.reason == "left U-bolts: slack"


def test_a_moved_look_is_of_the_stage_of_its_cart(client, shop):
    other = a_cart(shop.site, shop.manager, "9", at=shop.at)
    fit(other, shop.kit, by=shop.manager, at=shop.at - timedelta(days=1))
    row = round_of(shop, client)
    assert JointPart.objects.get().stage == "settling"
    other.rechecks.all().delete()
    shop.other = other

    moved(shop, row)

    assert standing(shop, JointPart, other).get().stage == "recurring"


@pytest.mark.parametrize(
    ("there", "here", "bearing", "lacks"),
    [
        ("", "taper", "sealed", None),  # pressed at the cart that was seen
        ("sealed", "sealed", "sealed", None),
        ("sealed", "taper", None, Lacks.BEARING),
        ("sealed", "", None, Lacks.BEARING),
    ],
)
def test_a_bearing_read_off_the_wrong_carts_record_is_not_known(there, here, bearing, lacks):
    look = Look(hub_bearing="sealed", target_nm=Decimal(70), nut_off=True, removals=9)
    look.loose_before, look.clean_since = 2, 3

    move_look(look, Before(hub_bearing=there), Before(hub_bearing=here, removals=4))

    assert (look.hub_bearing, look.lacks, look.target_nm) == (bearing, lacks, Decimal(70))
    assert (look.removals, look.loose_before, look.clean_since) == (5, 0, None)


def test_a_look_of_before_the_counts_has_none_at_the_right_cart_either():
    look = Look()

    move_look(look, Before(), Before(removals=4, loose_before=2))

    assert (look.removals, look.loose_before, look.hub_bearing) == (None, None, None)


def test_moved_grease_goes_by_what_was_in_the_points_of_its_cart(client, shop):
    round_of(shop, client, shop.other, **{"grease-thickener": "polyurea"})
    row = round_of(shop, client, **{"grease-thickener": "lithium"})
    assert row.cart == shop.cart

    moved(shop, row)

    found = GreasePart.objects.order_by("received_at").values_list("thickener_before", flat=True)
    assert list(found) == [None, None, "polyurea"]


@pytest.mark.parametrize("pressed", [GOOD, THREE_ASKED])
def test_a_moved_stop_run_is_held_against_its_own_carts_run_before_the_lift(
    site, manager, kit, pressed
):
    carts = [a_cart(site, manager, number) for number in ("7", "8", "9")]
    for cart, sent in zip(carts, (HALF_G, FOUR_TENTHS, None), strict=True):
        if sent:
            braked(cart, manager, 1, GOOD | sent)
        fit(cart, kit, by=manager, at=MORNING + 2 * DAY)
    seven, eight, nine = (Cart.objects.get(pk=cart.pk) for cart in carts)
    fact, _outcome = braked(seven, manager, 3, pressed | THREE_TENTHS)
    at = MORNING + 4 * DAY

    row = move_round(fact.round, eight, reason="The 8", by=manager, at=at)
    own = BrakeCheck.objects.get(round=row)
    last = move_round(row, nine, reason="The 9", by=manager, at=at + DAY)

    assert round(fact.reference_g, 2) == Decimal("0.50")
    assert round(own.reference_g, 2) == Decimal("0.40")
    assert own.reference_said.startswith("its own before the lift")
    median = BrakeCheck.objects.get(round=last)
    assert median.reference_said == "the median of 2 plain carts of the site"
