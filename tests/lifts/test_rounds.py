"""A round at a lifted cart, saved whole: what closes, what stays open, what is tagged."""

from datetime import timedelta

import pytest

from fleet.actions.register import change_tyres
from fleet.actions.rounds import TakenDown, save_round
from fleet.kinds import Cut, register
from fleet.models import Tag
from lifts.actions import fit, take_wheel_off
from lifts.chapters import chapters_of
from shared.clock import noon_of
from shared.facts import strike
from shared.models import new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site
from tests.lifts.visiting import a_visit, answers
from tests.wrench_factories import a_good_wrench

pytestmark = pytest.mark.django_db
FITTED = MORNING + timedelta(hours=1)


@pytest.fixture
def manager_and_cart():
    site, manager = a_site()
    cart = a_cart(site, manager)
    a_good_wrench(site, manager)
    fit(cart, a_kit(site, manager), by=manager, at=FITTED)
    take_wheel_off(cart, "left front", by=manager, at=FITTED + timedelta(hours=1))
    return manager, cart


def go_round(manager, cart, at, *, id=None, stage="settling", **by_name):
    part, visit = register.parts["joints"], a_visit(cart, at, stage=stage)
    form = part.form(visit, answers(part.form(visit), "joints", **by_name))
    assert form.is_valid(), form.errors
    taken = TakenDown(id=id or new_id(), opened_at=at, parts=[(part, form)])
    return save_round(cart, taken, by=manager, at=at)


def active(cart):
    return sorted(cart.rechecks.active().values_list("kind_code", "subject"))


def test_a_round_with_all_firm_closes_the_wheels_lugs(manager_and_cart):
    manager, cart = manager_and_cart
    assert ("wheel-lugs", "left front") in active(cart)

    saved = go_round(manager, cart, FITTED + timedelta(hours=3))

    assert [recheck.kind_code for recheck in saved.closed] == ["wheel-lugs"]
    assert active(cart) == [("fitting-close-out", "")]


def test_a_wheel_not_reached_keeps_its_lugs_due(manager_and_cart):
    manager, cart = manager_and_cart

    go_round(manager, cart, FITTED + timedelta(hours=3), left_front_lugs={"found": "not reached"})

    assert ("wheel-lugs", "left front") in active(cart)


def test_a_round_pressed_twice_is_one_round(manager_and_cart):
    manager, cart = manager_and_cart
    act = new_id()

    first = go_round(manager, cart, FITTED + timedelta(hours=3), id=act)
    again = go_round(manager, cart, FITTED + timedelta(hours=3), id=act)

    assert (first.first, again.first) == (True, False)


def test_a_lug_held_leaves_its_wheel_open_and_tags(manager_and_cart):
    manager, cart = manager_and_cart

    go_round(
        manager,
        cart,
        FITTED + timedelta(hours=3),
        left_front_lugs={"found": "slack", "right": "no"},
    )

    cart.refresh_from_db()
    tag = Tag.objects.get()
    assert (tag.reason, tag.is_critical, cart.is_tagged) == ("left front lugs: slack", True, True)
    assert ("wheel-lugs", "left front") in active(cart)


def test_a_lock_to_renew_is_not_closed_by_a_firm_look(manager_and_cart):
    manager, cart = manager_and_cart
    moved = {"found": "took up", "action": "tightened", "right": "yes"}
    go_round(manager, cart, FITTED + timedelta(hours=3), front_frame=moved)
    assert ("lock-again", "front frame") in active(cart)

    go_round(manager, cart, FITTED + timedelta(hours=4))
    assert ("lock-again", "front frame") in active(cart)

    relocked = {"found": "firm", "action": "relocked"}
    go_round(manager, cart, FITTED + timedelta(hours=5), front_frame=relocked)
    assert ("lock-again", "front frame") not in active(cart)


def test_chapters_tell_what_each_round_found(manager_and_cart):
    manager, cart = manager_and_cart
    at = FITTED + timedelta(hours=3)
    go_round(manager, cart, at, front_frame={"found": "slack", "right": "no"})

    [chapter] = chapters_of(cart, Cut(at, at))

    [found] = chapter.rounds
    assert found.noted == [("front frame", "slack", "")]
    assert found.ordinary == 7
    assert found.reasons == [
        "front frame: slack and not put right",
        "front frame: the thread-lock bond is broken; strip, clean and lock it again",
    ]


def test_chapters_show_nothing_that_was_not_known_then(manager_and_cart):
    manager, cart = manager_and_cart
    at = FITTED + timedelta(hours=3)
    go_round(manager, cart, at)

    before = chapters_of(cart, Cut(FITTED, FITTED))
    earlier = chapters_of(cart, Cut(MORNING, MORNING))

    assert [len(chapter.rounds) for chapter in before] == [0]
    assert earlier == []


def test_a_round_before_noon_belongs_to_the_lift_fitted_that_day(manager_and_cart):
    """Of a lift of which the day alone is known; the one before it may still have been on."""
    manager, cart = manager_and_cart
    fitted = MORNING + timedelta(days=20)
    other_kit = a_kit(cart.site, manager, code="other")
    noon = noon_of(cart.site.day(fitted), cart.site.zone)
    fit(cart, other_kit, by=manager, at=noon + timedelta(hours=1), done_at=noon, day_only=True)
    rounds = {days: MORNING + timedelta(days=days) for days in (19, 20, 21)}
    assert rounds[20] < noon
    for at in rounds.values():
        go_round(manager, cart, at)

    newer, older = chapters_of(cart, Cut(rounds[21], rounds[21]))

    done_at = [[found.done_at for found in one.rounds] for one in (newer, older)]
    assert done_at == [[rounds[21], rounds[20]], [rounds[19]]]


def test_chapters_leave_out_a_round_taken_back(manager_and_cart):
    manager, cart = manager_and_cart
    at = FITTED + timedelta(hours=3)
    saved = go_round(manager, cart, at)
    later = at + timedelta(hours=1)
    strike(saved.round, reason="another cart", by=manager, at=later)

    [chapter] = chapters_of(cart, Cut(later, later))
    [before] = chapters_of(cart, Cut(at, at))

    assert ([len(before.rounds)], chapter.rounds) == ([1], [])


def test_other_tyres_call_for_the_lugs_of_all_wheels(manager_and_cart):
    manager, cart = manager_and_cart
    change_tyres(cart, "22x11-10", "545.5", by=manager, at=FITTED + timedelta(hours=2))
    assert ("all-lugs", "") in active(cart)

    go_round(manager, cart, FITTED + timedelta(hours=3))

    assert ("all-lugs", "") not in active(cart)


@pytest.mark.parametrize("count", [1, 3])
def test_chapters_cost_the_same_however_many_rounds(
    manager_and_cart, count, django_assert_num_queries
):
    manager, cart = manager_and_cart
    for hour in range(count):
        at = FITTED + timedelta(hours=3 + hour)
        go_round(manager, cart, at)

    with django_assert_num_queries(20):
        [chapter] = chapters_of(cart, Cut(at, at))

    assert len(chapter.rounds) == count


def test_rows_of_the_bundle_name_each_look(manager_and_cart):
    manager, cart = manager_and_cart
    saved = go_round(manager, cart, FITTED + timedelta(hours=3))
    part = register.parts["joints"]

    rows = list(part.rows(part.model.objects.all()))

    assert len(rows) == 8
    assert rows[0] == {
        "round": str(saved.round.pk),
        "part": "joints",
        "item": "left front lugs",
        "found": "firm",
        "detail": "right when left; wrench TW-1",
    }
