from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from math import radians, tan

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from alignment import learnt as module
from alignment.advice import Rod, Sleeve, Steering
from alignment.learning import FORMULA, OF_KIT, Learnt, OtherWay, gain
from alignment.learnt import learnt as learnt_by
from fleet.actions import register
from fleet.kinds import Cut
from fleet.models import Round
from fleet.standing import EVERYTHING
from lifts.actions import fit, remove_lift
from shared.facts import record, strike
from tests.alignment_factories import GaugeFactory, PassesFactory, ToeFactory, TurnFactory, placed
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
# on a tyre of 558.8 mm a flat of each rod moves toe by 1 mm, of the sleeve camber by 1/6 degree
AHEAD = Rod(pitch_mm=1.25, is_double=False, arm_mm=558.8 * 1.25 / 6, is_ahead=True)
STEERING = Steering(AHEAD, Sleeve(1.25, is_double=False, knuckle_mm=1.25 / tan(radians(1.0))))
ROD = {"what": "rod", "longer_flats": Decimal(4)}
SLEEVE = {"what": "sleeve", "longer_flats": Decimal(6)}


def learnt(cart, kit_code, cut, steering=STEERING):
    return learnt_by(cart, kit_code, cut, steering=steering)


@pytest.fixture
def yard():
    return a_site()


@pytest.fixture
def cart(yard):
    return a_cart(*yard)


def a_sheet(cart, by, lines, at=MORNING, corrects=None, **values):
    common = {"site_id": cart.site_id, "cart_id": cart.pk, "by": by}
    common |= {"done_at": at, "written_at": at}
    row = Round(opened_at=at, **common)
    record(row, at=at)
    sheet = PassesFactory(round=row, **common, **{"passes": 2, **values})
    record(sheet, *placed(*lines), at=at)
    return sheet


def toes(pass_no, toe_mm):
    rear_mm = Decimal(900) + Decimal(toe_mm)
    return [ToeFactory(pass_no=pass_no, front_mm=Decimal(900), rear_mm=rear_mm) for _ in range(3)]


def rods(*, moved_mm, **changed):
    """Return lines in which both rods, turned alike, took 12 mm of toe to somewhere else."""
    turned = [TurnFactory(at=side, **{**ROD, **changed}) for side in ("left", "right")]
    return [*toes(1, 12), *turned, *toes(2, 12 + moved_mm)]


def sleeve(*, moved_deg, side="left"):
    before, after = (
        [GaugeFactory(pass_no=n, side=side, gauge_deg=Decimal(str(deg))) for _ in range(3)]
        for n, deg in ((1, -1.0), (2, -1.0 + moved_deg))
    )
    return [*before, TurnFactory(at=side, **SLEEVE), *after]


def shares(seen):
    return [round(one.share, 3) for one in seen]


def test_a_cart_teaches_what_its_rods_did_against_the_formula(yard, cart):
    a_sheet(cart, yard[1], rods(moved_mm=-6))

    found = learnt(cart, "", EVERYTHING)

    (seen,) = found.rod_cart
    assert (seen.change, seen.formula_change) == (pytest.approx(-6), pytest.approx(-8))
    assert found == Learnt(rod_cart=[seen], rod_kit=[seen], sleeve_cart=[], sleeve_kit=[])


def test_a_cart_teaches_what_a_sleeve_did(yard, cart):
    a_sheet(cart, yard[1], sleeve(moved_deg=0.8))

    found = learnt(cart, "", EVERYTHING)

    assert (shares(found.sleeve_cart), shares(found.sleeve_kit)) == ([0.8], [0.8])
    assert found.rod_cart == []


def test_one_rod_alone_has_the_whole_formula(yard, cart):
    lines = rods(moved_mm=-6)
    a_sheet(cart, yard[1], [line for line in lines if getattr(line, "at", "") != "right"])

    assert shares(learnt(cart, "", EVERYTHING).rod_cart) == [1.5]


def test_turns_without_flats_or_without_a_formula_teach_nothing(yard, cart):
    a_sheet(cart, yard[1], rods(moved_mm=-6, longer_flats=None))
    a_sheet(cart, yard[1], rods(moved_mm=-6), MORNING + HOUR)

    assert shares(learnt(cart, "", EVERYTHING).rod_cart) == [0.75]
    assert learnt(cart, "", EVERYTHING, steering=Steering()) == Learnt([], [], [], [])


def test_turns_of_before_stand_beside_todays_figures_whatever_was_foretold_then(yard, cart):
    for hour in range(3):
        lines = rods(moved_mm=-7.2, formula_mm=Decimal(-4))
        a_sheet(cart, yard[1], lines, MORNING + hour * HOUR)
    behind = replace(STEERING, rod=replace(AHEAD, is_ahead=False))

    seen = learnt(cart, "", EVERYTHING, steering=behind).rod_kit
    taken = gain(2.0, here=[], cart=[], kit=seen)

    assert shares(seen) == [-0.9] * 3
    assert (taken.a_flat, taken.source) == (2.0, FORMULA)
    assert taken.other_way == OtherWay(OF_KIT, 3)
    assert gain(-2.0, here=[], cart=[], kit=learnt(cart, "", EVERYTHING).rod_kit).other_way is None


def test_other_carts_with_the_kit_teach_of_the_kit(yard, cart):
    other = a_cart(*yard, number="8")
    a_sheet(cart, yard[1], rods(moved_mm=-6))
    a_sheet(other, yard[1], rods(moved_mm=-4), MORNING + HOUR)

    found = learnt(cart, "", EVERYTHING)

    assert (shares(found.rod_cart), shares(found.rod_kit)) == ([0.75], [0.75, 0.5])


def test_another_site_teaches_nothing(yard, cart):
    elsewhere = a_site("mill")
    a_sheet(a_cart(*elsewhere), elsewhere[1], rods(moved_mm=-4))

    assert learnt(cart, "", EVERYTHING).rod_kit == []


def test_a_sheet_is_of_the_kit_that_was_on_when_it_was_measured(yard, cart):
    site, manager = yard
    kit = a_kit(site, manager, code="hx-4")
    a_sheet(cart, manager, rods(moved_mm=-2), MORNING)
    fitting = fit(cart, kit, by=manager, at=MORNING + HOUR)
    a_sheet(cart, manager, rods(moved_mm=-4), MORNING + 2 * HOUR)
    remove_lift(fitting, "Sold", by=manager, at=MORNING + 3 * HOUR)
    a_sheet(cart, manager, rods(moved_mm=-6), MORNING + 4 * HOUR)

    plain, lifted, other = (learnt(cart, code, EVERYTHING) for code in ("", "hx-4", "trail-6"))

    assert shares(plain.rod_cart) == [0.25, 0.75]
    assert shares(lifted.rod_cart) == [0.5]
    assert other.rod_kit == []


def test_only_what_stands_within_the_cut_teaches(yard, cart):
    manager = yard[1]
    a_sheet(cart, manager, rods(moved_mm=-6))
    later = a_sheet(cart, manager, rods(moved_mm=-4), MORNING + HOUR)

    before = learnt(cart, "", Cut(MORNING, MORNING))
    after = learnt(cart, "", Cut(MORNING + HOUR, MORNING + HOUR))
    strike(later, reason="wrong cart", by=manager, at=MORNING + 2 * HOUR)
    struck = learnt(cart, "", EVERYTHING)

    assert shares(before.rod_cart) == [0.75]
    assert shares(after.rod_cart) == [0.75, 0.5]
    assert shares(struck.rod_cart) == [0.75]


def test_of_many_sheets_the_newest_teach_the_carts_own_first(yard, cart, monkeypatch):
    monkeypatch.setattr(module, "MOST_SHEETS", 2)
    other = a_cart(*yard, number="8")
    a_sheet(cart, yard[1], rods(moved_mm=-2), MORNING)
    for hour, moved_mm in ((1, -4), (2, -6)):
        a_sheet(other, yard[1], rods(moved_mm=moved_mm), MORNING + hour * HOUR)

    found = learnt(cart, "", EVERYTHING)

    assert (shares(found.rod_cart), shares(found.rod_kit)) == ([0.25], [0.25, 0.75])


def test_learnt_asks_as_many_queries_of_one_sheet_as_of_many(yard):
    site, manager = yard
    kit = a_kit(site, manager, code="hx-4")
    carts = [a_cart(*yard, number=str(number)) for number in (11, 12, 13)]
    for each in carts:
        fit(each, kit, by=manager, at=MORNING)
    cart = register.Cart.objects.select_related("site").get(pk=carts[0].pk)

    a_sheet(cart, manager, rods(moved_mm=-2), MORNING + HOUR)
    with CaptureQueriesContext(connection) as of_one:
        learnt(cart, "hx-4", EVERYTHING)
    for each in carts:
        a_sheet(each, manager, rods(moved_mm=-4), MORNING + 2 * HOUR)
    with CaptureQueriesContext(connection) as of_many:
        found = learnt(cart, "hx-4", EVERYTHING)

    assert len(found.rod_kit) == 4
    assert len(of_many) == len(of_one) < 10
