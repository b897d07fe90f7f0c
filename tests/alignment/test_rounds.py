"""A camber and toe sheet saved in a round: what it closes, starts and tags."""

from datetime import timedelta
from uuid import UUID

import pytest

from alignment.parts import CamberToePart
from fleet.actions.rounds import TakenDown, save_round
from fleet.models import Recheck, Tag
from lifts.actions import fit
from tests.alignment_factories import SLEEVE_TURNED, a_visit, typed
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role

pytestmark = pytest.mark.django_db
LATER = MORNING + timedelta(days=20)
TOE_AGAIN = {
    f"p2_{name}": typed()[f"camber-toe-p1_{name}"]
    for name in ("front_1", "rear_1", "front_2", "rear_2", "front_3", "rear_3")
}
RODS_TURNED = {
    "passes": "2",
    "p2_step": "rod",
    "p2_left_turn": "4",
    "p2_left_way": "longer",
    "p2_right_turn": "4",
    "p2_right_way": "longer",
    "wheel_centred": "on",
    "jam_nuts": "not-yet",
    **TOE_AGAIN,
}
BOTH_AGAIN = {
    name.replace("camber-toe-p1", "p3"): text
    for name, text in typed().items()
    if name.startswith("camber-toe-p1_")
}
DRIVEN = {**RODS_TURNED, **BOTH_AGAIN, "passes": "3", "p3_step": "drive"}
NIPPED = {"jam_nuts": "tight"}


@pytest.fixture
def cart():
    site, manager = a_site()
    cart = a_cart(site, manager)
    fit(cart, a_kit(site, manager), by=manager, at=MORNING)
    cart.refresh_from_db()
    return cart


@pytest.fixture
def mechanic(cart):
    return with_role(cart.site, cart.site.memberships.get().person)


def saved(cart, by, at=LATER, key=7, **fields):
    part = CamberToePart()
    form = part.form(a_visit(cart=cart), typed(**fields))
    assert form.errors == {}
    visit = TakenDown(UUID(int=key), opened_at=at, parts=[(part, form)])
    return save_round(cart, visit, by=by, at=at)


def active(cart, *kinds):
    rechecks = Recheck.objects.active().filter(cart=cart, kind_code__in=kinds or ["camber-toe"])
    return sorted(rechecks.values_list("rule_code", flat=True))


def test_a_turned_camber_calls_for_the_sheet_again_after_use(cart, mechanic):
    done = saved(cart, mechanic, **SLEEVE_TURNED)

    assert [outcome.pieces for outcome in done.outcomes] == [{"camber-toe", "jam-nuts"}]
    assert active(cart) == ["camber-turned-again"]
    assert Tag.objects.count() == 0


def test_a_tie_rod_turned_and_left_outside_calls_for_the_sheet_at_once(cart, mechanic):
    outside = {f"p2_rear_{n}": "36 3/8" for n in (1, 2, 3)}

    saved(cart, mechanic, **RODS_TURNED | outside)

    assert active(cart) == ["camber-turned"]
    assert Recheck.objects.get(rule_code="camber-turned").due_on == cart.site.day(LATER)


AFTER_TURNS = ("jam-nuts", "test-drive")


@pytest.mark.parametrize(
    ("fields", "called_for"),
    [
        ({}, []),
        (SLEEVE_TURNED | {"jam_nuts": "not-yet"}, ["turned-jam-nuts"]),
        (SLEEVE_TURNED, []),
        (RODS_TURNED, ["tie-rod-drive", "turned-jam-nuts"]),
        (RODS_TURNED | NIPPED, ["tie-rod-drive"]),
        (DRIVEN, ["turned-jam-nuts"]),
        (DRIVEN | NIPPED, []),
    ],
    ids=["read", "sleeve", "sleeve, nipped", "rods", "rods, nipped", "driven", "both"],
)
def test_what_was_turned_calls_for_jam_nuts_and_a_drive(cart, mechanic, fields, called_for):
    saved(cart, mechanic, **fields)

    assert active(cart, *AFTER_TURNS) == called_for
    due = Recheck.objects.active().filter(cart=cart, rule_code__in=called_for)
    assert {one.due_on for one in due} <= {cart.site.day(LATER)}


def test_a_sheet_that_was_only_read_starts_nothing(cart, mechanic):
    saved(cart, mechanic)

    assert active(cart) == []


LEANS = {"p1_left_top_1": "5/16"}


def test_a_sheet_left_outside_is_due_again_at_once(cart, mechanic):
    saved(cart, mechanic, **LEANS)

    (recheck,) = Recheck.objects.active().filter(cart=cart, kind_code="camber-toe")
    assert (recheck.rule_code, recheck.due_on) == ("camber-toe-outside", cart.site.day(LATER))
    assert (recheck.opens_on, recheck.stops_on) == (recheck.due_on, None)


def test_outside_again_keeps_the_day_it_was_first_left_so(cart, mechanic):
    saved(cart, mechanic, **LEANS)
    saved(cart, mechanic, at=LATER + timedelta(days=3), key=8, **LEANS)

    recheck = Recheck.objects.get(rule_code="camber-toe-outside")
    assert (recheck.due_on, recheck.ended) == (cart.site.day(LATER), "")


def test_a_later_sheet_inside_ends_what_was_left_outside(cart, mechanic):
    saved(cart, mechanic, **LEANS)
    saved(cart, mechanic, at=LATER + timedelta(days=3), key=8)

    assert active(cart) == ["camber-toe"]
    assert Recheck.objects.get(rule_code="camber-toe-outside").ended == "closed"


def test_toe_out_tags_the_cart(cart, mechanic):
    rears = {f"p1_rear_{n}": "35 5/8" for n in (1, 2, 3)}

    saved(cart, mechanic, **rears)

    cart.refresh_from_db()
    assert cart.is_tagged
    assert Tag.objects.get().reason == "toe-out: toe -6.4 mm (-0.250 in)"


def test_outside_after_a_kerb_hit_keeps_the_cart_for_another_person(cart, mechanic):
    saved(cart, mechanic, after_kerb_hit="on", p1_left_top_1="5/16")

    cart.refresh_from_db()
    assert cart.is_tagged
    assert Tag.objects.get().is_critical


def test_the_same_round_again_is_one_sheet(cart, mechanic):
    first, again = (saved(cart, mechanic, **SLEEVE_TURNED) for _ in range(2))

    assert (first.first, again.first) == (True, False)
    assert active(cart) == ["camber-turned-again"]
