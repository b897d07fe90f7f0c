"""A round with a sheet moved to another cart: it is held against that one's limits."""

from datetime import timedelta
from decimal import Decimal
from uuid import UUID

import pytest

from alignment.models import CamberToeSheet
from alignment.parts import CamberToePart
from fleet.actions.corrections import move_round
from fleet.actions.rounds import TakenDown, save_round
from fleet.models import Round
from lifts.actions import fit
from tests.alignment_factories import SLEEVE_TURNED, SheetFactory, a_visit, typed
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site
from tests.spec_factories import SLEEVE, a_spec

pytestmark = pytest.mark.django_db
PART = CamberToePart()
FITTED, SAVED, MOVED = (MORNING + timedelta(days=days) for days in (1, 20, 21))


@pytest.fixture
def carts():
    """Two carts with the same kind of lift, but the other one's kit is held to less."""
    site, manager = a_site()
    one, other = (a_cart(site, manager, number=number) for number in "78")
    fit(one, a_kit(site, manager), by=manager, at=FITTED)
    fit(other, a_kit(site, manager, code="hx-4"), by=manager, at=FITTED)
    narrow = {"camber_low_deg": Decimal("-0.1"), "camber_high_deg": Decimal("0.1")}
    spec = a_spec(site, manager, FITTED, **SLEEVE | narrow)
    return one, other, manager, spec


def moved(carts, **fields):
    one, other, manager, _spec = carts
    form = PART.form(a_visit(cart=one), typed(**fields))
    assert form.errors == {}
    taken = TakenDown(UUID(int=7), opened_at=SAVED, parts=[(PART, form)])
    save_round(one, taken, by=manager, at=SAVED)
    move_round(Round.objects.get(), other, reason="It was the 8", by=manager, at=MOVED)
    sheet = CamberToeSheet.objects.get(cart=other)
    return sheet, PART.lines_of([sheet.pk])[sheet.pk]


def test_a_moved_sheet_takes_the_limits_of_the_cart_that_it_is_of(carts):
    sheet, _lines = moved(carts, p1_left_top_1="5/32")

    before = CamberToeSheet.objects.get(cart=carts[0])
    assert (before.camber_low_deg, before.spec) == (Decimal("-0.5"), None)
    assert (sheet.camber_low_deg, sheet.spec) == (Decimal("-0.1"), carts[3].pk)
    assert sheet.diameter_typed == before.diameter_typed


def test_a_moved_sheet_foretells_its_turns_by_the_sleeve_of_the_other_kit(carts):
    _sheet, lines = moved(carts, **SLEEVE_TURNED)

    [turn] = [line for line in lines if hasattr(line, "longer_flats")]
    assert turn.longer_flats == 2
    # two flats of six: a third of atan(2 * 1.25 mm / 5.5 in) a turn
    assert turn.formula_deg == Decimal("0.3417")


def test_a_moved_sheet_of_before_passes_were_asked_stays(carts):
    _one, other, _manager, _spec = carts
    fact = SheetFactory.build(cart=other)

    PART.moved(fact, fact, [], other, MOVED)

    assert (fact.camber_low_deg, fact.spec, fact.limits_from) == (Decimal("-0.5"), None, None)
