"""A camber and toe sheet saved in a round: what it closes, starts and tags."""

from datetime import timedelta
from uuid import UUID

import pytest

from alignment.parts import CamberToePart
from fleet.actions.rounds import TakenDown, save_round
from fleet.models import Recheck, Tag
from lifts.actions import fit
from tests.alignment_factories import a_visit, typed
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role

pytestmark = pytest.mark.django_db
LATER = MORNING + timedelta(days=20)
TURNED = {
    "camber_turned": ["left"],
    "left_left_top_1": "1/8",
    "left_left_bottom_1": "1/8",
    "left_front_1": "35 7/8",
    "left_rear_1": "36 1/16",
    "toe_after_turn": "on",
}


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


def saved(cart, by, at=LATER, **fields):
    part = CamberToePart()
    form = part.form(a_visit(), typed(**fields))
    assert form.errors == {}
    visit = TakenDown(UUID(int=7), opened_at=at, parts=[(part, form)])
    return save_round(cart, visit, by=by, at=at)


def active(cart):
    rechecks = Recheck.objects.active().filter(cart=cart, kind_code="camber-toe")
    return sorted(rechecks.values_list("rule_code", flat=True))


def test_a_turned_camber_calls_for_the_sheet_again_after_use(cart, mechanic):
    done = saved(cart, mechanic, **TURNED)

    assert [outcome.pieces for outcome in done.outcomes] == [{"camber-toe"}]
    assert active(cart) == ["camber-turned-again"]
    assert Tag.objects.count() == 0


def test_a_tie_rod_turned_and_left_outside_calls_for_the_sheet_at_once(cart, mechanic):
    outside = {"tie_rod_turned": "on", "left_front_1": "36", "left_rear_1": "36"}

    saved(cart, mechanic, **outside)

    assert active(cart) == ["camber-turned"]
    assert Recheck.objects.get(rule_code="camber-turned").due_on == cart.site.day(LATER)


def test_a_sheet_that_was_only_read_starts_nothing(cart, mechanic):
    saved(cart, mechanic)

    assert active(cart) == []


def test_toe_out_tags_the_cart(cart, mechanic):
    rears = {f"found_rear_{n}": "35 5/8" for n in (1, 2, 3)}

    saved(cart, mechanic, **rears)

    cart.refresh_from_db()
    assert cart.is_tagged
    assert Tag.objects.get().reason == "toe-out: toe -6.4 mm (-0.250 in)"


def test_the_same_round_again_is_one_sheet(cart, mechanic):
    first, again = (saved(cart, mechanic, **TURNED) for _ in range(2))

    assert (first.first, again.first) == (True, False)
    assert active(cart) == ["camber-turned-again"]
