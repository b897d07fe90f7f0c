"""The brake: one tap, what tags, and stop runs held against those of before the lift."""

from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.actions.corrections import correct_round
from fleet.actions.rounds import TakenDown, save_round
from fleet.fitted import BeforeFitting
from fleet.kinds import register
from fleet.models import Cart, Round
from lifts.actions import fit
from lifts.models import BrakeCheck, GreasePart
from lifts.parts.brake import Brake
from shared.facts import strike
from shared.models import new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site
from tests.lifts.visiting import a_visit
from tests.round_factories import Told

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
GOOD = {"brake-as_it_should_be": "on"}
# 12 m in 2 s is 6 m/s; stopped within d: v^2 / (2 d g) = 36 / (19.6133 d)
RUN = {"brake-marked": "12 m", "brake-time_1_s": "2", "brake-time_2_s": "2"}
HALF_G = RUN | {"brake-stop_1": "3.6711 m", "brake-stop_2": "3.6711 m"}
FOUR_TENTHS = RUN | {"brake-stop_1": "4.5888 m", "brake-stop_2": "4.5888 m"}
THREE_TENTHS = RUN | {"brake-stop_1": "6.1184 m", "brake-stop_2": "6.1184 m"}


def form_at(cart, day, sent):
    return register.parts["brake"].form(a_visit(cart, MORNING + day * DAY), sent)


def braked(cart, by, day, sent):
    form = form_at(cart, day, sent)
    assert form.is_valid(), form.errors
    at = MORNING + day * DAY
    taken = TakenDown(id=new_id(), opened_at=at, parts=[(Brake(), form)])
    save_round(cart, taken, by=by, at=at)
    fact = BrakeCheck.objects.filter(cart=cart).latest("done_at")
    return fact, Brake().outcome(fact, [])


def lifted(cart, kit, by, day):
    fit(cart, kit, by=by, at=MORNING + day * DAY)
    return Cart.objects.get(pk=cart.pk)


def reasons(outcome):
    return [hold.reason for hold in outcome.holds]


def said(fact):
    return {item: (found, detail) for item, found, detail in Brake().said(fact, [])}


def test_one_tap_says_all_five_are_as_they_should_be(cart, manager):
    fact, outcome = braked(cart, manager, 1, GOOD)

    names = ("is_pedal_low", "holds_on_slope", "cable_free", "is_even", "jam_nut_nipped")
    assert [getattr(fact, name) for name in names] == [False, True, True, True, True]
    assert (fact.bracket_moved, outcome.pieces) == (None, {"brake"})


def test_what_is_pressed_counts_beside_the_one_tap(cart, manager):
    sent = GOOD | {"brake-holds_on_slope": "no", "brake-is_pedal_low": "yes"}

    _fact, outcome = braked(cart, manager, 1, sent)

    both = "Brake pedal low or soft; Park brake does not hold"
    assert (outcome.tag, outcome.is_critical, outcome.pieces) == (both, True, frozenset())


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("is_even", "Brake equaliser not even left and right"),
        ("jam_nut_nipped", "Jam nut of the brake adjuster not nipped"),
    ],
)
def test_equaliser_and_jam_nut_hold_without_a_tag(cart, manager, name, reason):
    _fact, outcome = braked(cart, manager, 1, GOOD | {f"brake-{name}": "no"})

    assert (reasons(outcome), outcome.tag) == ([reason], "")


def test_what_was_not_asked_before_holds_nothing():
    fact = BrakeCheck(is_pedal_low=False, holds_on_slope=True, cable_free=True)

    assert (Brake().outcome(fact, []).pieces, len(Brake().verdicts(fact, []))) == ({"brake"}, 3)


def test_two_runs_are_told_each_and_in_the_mean(cart, manager):
    mixed = RUN | {"brake-stop_1": "3.6711 m", "brake-stop_2": "4.5888 m"}

    fact, outcome = braked(cart, manager, 1, GOOD | mixed)

    assert said(fact)["stop run 1"][1] == "12 m in 2 s: 0.50 g"
    assert said(fact)["stop run 2"][1] == "12 m in 2 s: 0.40 g"
    assert said(fact)["stop runs, mean"] == ("0.45 g", "nothing to hold it against")
    assert outcome.pieces == {"brake", "stop-run"}


def test_lengths_typed_bare_are_told_with_their_unit(cart, manager):
    bare = {"brake-marked": "40", "brake-stop_1": "14", "brake-travel_before": "1.5"}

    fact, _outcome = braked(cart, manager, 1, GOOD | HALF_G | bare)

    assert said(fact)["stop run 1"] == ("14 ft", "40 ft in 2 s: 0.44 g")
    assert said(fact)["brake"][1].startswith("travel before 1.5 in")


def test_a_run_is_held_against_the_carts_own_of_before_its_lift(cart, kit, site, manager):
    braked(a_cart(site, manager, "8"), manager, 0, GOOD | THREE_TENTHS)
    braked(cart, manager, 1, GOOD | HALF_G)
    cart = lifted(cart, kit, manager, 2)

    fact, at_the_edge = braked(cart, manager, 3, GOOD | FOUR_TENTHS)
    below, outcome = braked(cart, manager, 4, GOOD | THREE_TENTHS)

    assert fact.reference_g == Decimal("0.5000")
    assert fact.reference_said.startswith("its own before the lift, ")
    # 0.4 of 0.5 is the 80 % itself: looked into below it
    assert at_the_edge.pieces == {"brake", "stop-run"}
    assert outcome.pieces == {"brake"}
    assert reasons(outcome) == [
        f"Stop runs of 0.30 g, 60 % of 0.50 g: {below.reference_said}: look into the brake"
    ]
    assert outcome.tag == ""
    assert Brake().verdicts(below, [])["stop run against its reference"] == "no"


def test_without_one_of_its_own_against_the_median_of_the_sites_plain_carts(
    cart, kit, site, manager
):
    for number, run in (("8", THREE_TENTHS), ("9", FOUR_TENTHS), ("10", HALF_G)):
        braked(a_cart(site, manager, number), manager, 1, GOOD | run)
    elsewhere, other = a_site("quay")
    one_metre = RUN | {"brake-stop_1": "1 m", "brake-stop_2": "1 m"}
    braked(a_cart(elsewhere, other), other, 1, GOOD | one_metre)
    cart = lifted(cart, kit, manager, 2)

    fact, outcome = braked(cart, manager, 3, GOOD | THREE_TENTHS)

    assert fact.reference_g == Decimal("0.4000")
    assert fact.reference_said == "the median of 3 plain carts of the site"
    assert reasons(outcome) == [
        "Stop runs of 0.30 g, 75 % of 0.40 g: the median of 3 plain carts of the site: "
        "look into the brake"
    ]


def test_runs_under_a_lift_and_those_taken_back_are_no_reference(cart, kit, site, manager):
    other = lifted(a_cart(site, manager, "8"), kit, manager, 0)
    braked(other, manager, 1, GOOD | HALF_G)
    own, _outcome = braked(cart, manager, 1, GOOD | HALF_G)
    strike(own, reason="wrong cart", by=manager, at=MORNING + DAY, id=new_id())
    cart = lifted(cart, kit, manager, 2)

    fact, outcome = braked(cart, manager, 3, GOOD | THREE_TENTHS)

    assert (fact.reference_g, fact.reference_said) == (None, "")
    assert outcome.pieces == {"brake", "stop-run"}


def test_a_plain_carts_run_is_held_against_nothing(cart, manager):
    braked(cart, manager, 1, GOOD | HALF_G)

    fact, outcome = braked(cart, manager, 2, GOOD | THREE_TENTHS)

    assert (fact.reference_g, outcome.pieces) == (None, {"brake", "stop-run"})


def test_the_reference_is_asked_for_with_a_run_alone(cart, kit, manager, django_assert_num_queries):
    cart = lifted(cart, kit, manager, 1)
    form, with_run = form_at(cart, 2, GOOD), form_at(cart, 2, GOOD | HALF_G)
    assert form.is_valid() and with_run.is_valid()

    row = Round(id=new_id(), cart=cart, site=cart.site)

    with django_assert_num_queries(0):
        Brake().facts(row, form, {})
    with django_assert_num_queries(1):
        Brake().facts(row, with_run, {})


def test_work_told_late_is_held_against_runs_of_before_it(cart, kit, site, manager):
    braked(a_cart(site, manager, "8"), manager, 1, GOOD | HALF_G)
    cart = lifted(cart, kit, manager, 2)
    braked(a_cart(site, manager, "9"), manager, 5, GOOD | FOUR_TENTHS)
    form = form_at(cart, 6, GOOD | HALF_G)
    assert form.is_valid()
    row = Round(id=new_id(), cart=cart, site=site)

    [(late, _lines)] = Brake().facts(row, form, {"done_at": MORNING + 3 * DAY})
    [(now, _lines)] = Brake().facts(row, form, {})
    [(of_before, _lines)] = Brake().facts(row, form, {"done_at": MORNING + 1.5 * DAY})

    assert (late.reference_g, now.reference_g) == (Decimal("0.5000"), Decimal("0.4500"))
    assert of_before.reference_g is None


def test_at_a_plain_cart_brake_joints_and_speed_can_be_done_and_nothing_of_a_lift(cart, manager):
    able = {code for code, part in register.parts.items() if part.is_for(cart)}
    braked(cart, manager, 1, GOOD)
    grease = Told("grease", GreasePart(), [])
    taken = TakenDown(id=new_id(), opened_at=MORNING, parts=[(grease, None)])

    assert able == {"brake", "joints", "speed"}
    with pytest.raises(BeforeFitting):
        save_round(cart, taken, by=manager, at=MORNING + 2 * DAY)


def test_a_plain_carts_round_can_be_told_again(cart, manager):
    fact, _outcome = braked(cart, manager, 1, GOOD)
    again = TakenDown(
        id=new_id(),
        opened_at=MORNING,
        hours=None,
        note="windy",
        corrects=fact.round_id,
        why_corrected="slip",
    )

    correct_round(fact.round, again, by=manager, at=MORNING + 2 * DAY)

    at = MORNING + 3 * DAY
    assert BrakeCheck.objects.standing(at).get().round_id == again.id
