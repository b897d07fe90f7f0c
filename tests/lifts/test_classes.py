"""A site's table of speed classes and the class claimed for a cart, as facts say them."""

from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.kinds import Cut
from lifts.actions.speed_classes import (
    ClassGone,
    ClassKnown,
    add_class,
    change_class,
    claim_class,
    drop_class,
    set_usual,
)
from lifts.classes import claims_at, class_claimed, limit_said, table_at
from lifts.speed_classes import SpeedClass, default_classes, limits_of
from shared.models import Change, new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
CODES = ["golf-car", "personal-transport-vehicle", "low-speed-vehicle", "golf-cart-florida"]
YARD = SpeedClass("yard", "Yard rule", "Rule of the club", "2026", limit_mph=Decimal("12.5"))


@pytest.fixture
def who(manager):
    return {"by": manager, "at": MORNING + HOUR, "reason": "Board decision 12"}


def table(site, at=MORNING + 5 * HOUR):
    return table_at(site.pk, Cut(at, at))


def codes(site, **cut):
    return [one.code for one in table(site, **cut).classes]


def class_of(cart, at=MORNING + 5 * HOUR):
    cut = Cut(at, at)
    return class_claimed(table_at(cart.site_id, cut), claims_at([cart.pk], cut).get(cart.pk))


def test_without_a_change_the_default_holds_and_no_cart_has_a_class(site, cart):
    assert table(site).classes == default_classes()
    assert (table(site).usual, table(site).tags_over, class_of(cart)) == ("", False, None)


def test_a_class_is_added_changed_and_dropped(site, who):
    add_class(site, YARD, **who)
    added = codes(site)
    change_class(site, SpeedClass("yard", "Yard", "The club", "2027", limit_kmh=Decimal(19)), **who)
    changed = table(site).named("yard")
    drop_class(site, "golf-car", **who)

    assert added == [*CODES, "yard"]
    assert (changed.source, changed.limit_mph, changed.limit_kmh) == ("The club", None, 19)
    assert codes(site) == [*CODES[1:], "yard"]


def test_a_change_acts_forward_only(site, who):
    add_class(site, YARD, **who)

    assert codes(site, at=MORNING) == CODES
    assert table(site).named("yard").limit_mph == Decimal("12.5")


def test_the_tables_of_two_sites_are_their_own(site, who):
    other, manager = a_site("meadow")
    add_class(other, YARD, **who | {"by": manager})

    assert (codes(site), codes(other)) == (CODES, [*CODES, "yard"])


@pytest.mark.parametrize("code", ["golf-car", "usual", "none"])
def test_a_code_in_use_is_not_added_again(site, who, code):
    same = SpeedClass(code, "Again", "The club", "2026", limit_mph=Decimal(10))

    with pytest.raises(ClassKnown):
        add_class(site, same, **who)

    assert not Change.objects.filter(what="speed classes").exists()


@pytest.mark.parametrize(
    "act",
    [
        lambda site, who: change_class(site, YARD, **who),
        lambda site, who: drop_class(site, "yard", **who),
        lambda site, who: set_usual(site, "yard", False, **who),
        lambda site, who: claim_class(a_cart(site, who["by"], "8"), "yard", **who),
    ],
    ids=["change", "drop", "usual", "claim"],
)
def test_what_is_not_in_the_table_is_refused(site, who, act):
    with pytest.raises(ClassGone):
        act(site, who)


def test_a_change_sent_twice_is_one(site, who):
    act = new_id()
    for _press in range(2):
        add_class(site, YARD, id=act, **who)

    assert codes(site) == [*CODES, "yard"]
    assert Change.objects.filter(what="speed classes").count() == 1


def test_the_change_says_the_whole_table_as_plain_values(site, who):
    set_usual(site, "golf-car", True, **who)

    change = Change.objects.get(what="speed classes")
    assert (change.reason, change.value["usual"], change.value["tags_over"]) == (
        "Board decision 12",
        "golf-car",
        True,
    )
    assert [row["code"] for row in change.value["classes"]] == CODES
    assert change.value["classes"][0]["limit_mph"] == "15"


def test_a_cart_has_the_usual_class_until_one_is_claimed_for_it(site, cart, who):
    set_usual(site, "golf-car", False, **who)
    usual = class_of(cart)
    claim_class(cart, "low-speed-vehicle", **who)
    claimed = class_of(cart)
    claim_class(cart, "none", **who)
    none = class_of(cart)
    claim_class(cart, "usual", **who)

    assert [usual.code, claimed.code, none] == ["golf-car", "low-speed-vehicle", None]
    assert class_of(cart).code == "golf-car"
    assert class_of(cart, at=MORNING) is None


def test_a_class_dropped_leaves_its_carts_without_one(site, cart, who):
    set_usual(site, "golf-car", False, **who)
    claim_class(cart, "golf-car", **who)
    drop_class(site, "golf-car", **who)

    assert (table(site).usual, class_of(cart)) == ("", None)


# 49 CFR 571.3(b), ANSI/OPEI Z130.1-2020 and Fla. Stat. 320.01(22), as the table's own notes say
@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("golf-car", "below 15 mph (24 km/h)"),
        ("low-speed-vehicle", "at most 25 mph (40 km/h)"),
        ("golf-cart-florida", "at most 20 mph"),
    ],
)
def test_a_limit_is_said_in_the_units_of_its_source(site, code, said):
    limit = limits_of(table(site).named(code))

    assert (limit_said(limit), limit.text) == (said, said)
