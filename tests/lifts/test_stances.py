"""Stability before and after, from weighings, fittings and tyres: against hand-worked figures."""

from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.actions import register
from fleet.kinds import Cut
from lifts.actions import fit
from lifts.actions.stability import add_stability, correct_stability
from lifts.models import FittingLength
from lifts.stances import cg_mm_of, compared
from lifts.tipping import Shift, Weighed, stance_of
from shared.facts import NotStanding, record, strike
from tests.factories import MORNING
from tests.stability_factories import a_measure, inches

pytestmark = pytest.mark.django_db
D = Decimal
DAY = timedelta(days=1)
LATER = MORNING + 30 * DAY
LB = 0.45359237  # exact: NIST SP 811 (2008) App. B.8


def found(cart, at=LATER):
    return compared(cart, Cut(at, at))


def figures(stance):
    load = stance.seated or stance.empty
    return inches(load.cg_mm), round(load.ssf, 3), round(load.tip_deg, 1)


def mm(inch):
    return D(inch) * D("25.4")


def tyres(cart, manager, inch, *, at=MORNING):
    register.change_tyres(cart, f"{inch} in", mm(inch), by=manager, at=at)


def lift(cart, kit, manager, tracks=(), **about):
    """Put a kit of 3 in on; ``tracks`` are (end, before, after) in inches."""
    fitting = fit(cart, kit, by=manager, at=MORNING + DAY, **about)
    if not tracks:
        return fitting
    lines = [
        FittingLength(place=place, what="track", where=end, before_mm=mm(one), after_mm=mm(other))
        for place, (end, one, other) in enumerate(tracks, start=1)
    ]
    told = type(fitting)(
        site=cart.site, cart=cart, kit=kit, by=manager, done_at=MORNING + 2 * DAY, **about
    )
    return record(told, *lines, at=MORNING + 2 * DAY).fact


# common practice, no source: 3 in of lift with 85 % sprung, 20.5 in tyres for 18 in; the
# masses and heights of tests/stability_factories.py, worked by hand as first-order moments
def test_a_lift_and_tyres_raise_the_middle_and_lower_the_tip_angle(cart, kit, manager):
    tyres(cart, manager, "18")
    a_measure(cart, manager, at=MORNING + timedelta(hours=1))
    lift(cart, kit, manager)
    tyres(cart, manager, "20.5", at=MORNING + 3 * DAY)

    said = found(cart)

    assert figures(said.before) == (D("25.57"), 0.684, 34.4)
    assert figures(said.now) == (D("29.50"), 0.593, 30.7)
    assert said.tyres_mm == [457.2, 520.7]
    assert len(said.assumed) == 3


def test_tyres_fitted_with_the_lift_are_not_those_before_it(cart, kit, manager):
    tyres(cart, manager, "18")
    a_measure(cart, manager, at=MORNING + timedelta(hours=1))
    lift(cart, kit, manager, tyre_after="20.5x8-10", tyre_after_mm=mm("20.5"))

    said = found(cart)

    assert said.tyres_mm == [457.2, 520.7]
    assert figures(said.before) == (D("25.57"), 0.684, 34.4)


def test_a_wider_track_that_is_recorded_counts(cart, kit, manager):
    tyres(cart, manager, "18")
    a_measure(cart, manager, at=MORNING + timedelta(hours=1))
    lift(cart, kit, manager, [("front", "34", "37"), ("rear", "36", "39")])
    tyres(cart, manager, "20.5", at=MORNING + 3 * DAY)

    assert figures(found(cart).now) == (D("29.50"), 0.644, 32.8)


def test_a_cart_weighed_lifted_is_reckoned_back(cart, kit, manager):
    tyres(cart, manager, "18")
    lift(cart, kit, manager)
    tyres(cart, manager, "20.5", at=MORNING + 3 * DAY)
    heights = {"cg": "24.8 in", "seated": "41.25 in"}
    a_measure(cart, manager, at=MORNING + 4 * DAY, is_lifted=True, **heights)

    said = found(cart)

    assert figures(said.now) == (D("29.50"), 0.593, 30.7)
    assert figures(said.before) == (D("25.57"), 0.684, 34.4)


def test_tyres_alone_change_it(cart, manager):
    tyres(cart, manager, "18")
    a_measure(cart, manager, at=MORNING + timedelta(hours=1))
    alone = found(cart)
    tyres(cart, manager, "22", at=MORNING + 3 * DAY)

    said = found(cart)

    assert (alone.before, figures(alone.now)) == (None, (D("25.57"), 0.684, 34.4))
    assert figures(said.before) == (D("25.57"), 0.684, 34.4)
    assert figures(said.now) == (D("27.57"), 0.635, 32.4)


def test_what_is_not_known_yet_changes_nothing(cart, kit, manager):
    a_measure(cart, manager, at=MORNING + timedelta(hours=1))
    lift(cart, kit, manager)

    assert found(cart, at=MORNING) is None
    assert found(cart, at=MORNING + timedelta(hours=2)).before is None
    assert found(cart).before is not None


# ISO 10392 and SAE J874, the example of a 65 in wheelbase, 1000 lb, 20 in raised: 59.70108 lb
# gained put the middle 12 in above the hubs; the hubs here 8.5 in up
def test_an_axle_lift_finds_the_height(cart, manager):
    told = {"cg": "", "wheelbase": "65 in", "hub_height": "8.5 in", "mass": "1000 lb"}
    measure = a_measure(cart, manager, steps=[("20 in", "59.70108 lb")], **told)

    steps = list(measure.lines.order_by("place"))
    assert inches(cg_mm_of(measure, steps)) == D("20.50")
    assert found(cart).has_few_steps
    assert measure.lines.get().gained_typed == "59.70108 lb"


def test_three_steps_are_not_few(cart, manager):
    told = {"cg": "", "wheelbase": "66 in", "hub_height": "8.5 in"}
    steps = [("8 in", "17 lb"), ("14 in", "30 lb"), ("8 in", "17.2 lb")]
    a_measure(cart, manager, steps=steps, **told)

    assert not found(cart).has_few_steps


def test_the_tyres_of_its_day_are_copied_into_a_measure(cart, manager):
    tyres(cart, manager, "18")
    tyres(cart, manager, "22", at=MORNING + 3 * DAY)
    at = {"by": manager, "at": LATER, "mass_kg": 450, "track_mm": 890, "cg_mm": 530}
    early = add_stability(cart, [], done_at=MORNING + DAY, is_lifted=False, **at)
    late = add_stability(cart, [], is_lifted=False, **at)

    assert [early.tyre_mm, late.tyre_mm] == [D("457.2"), D("558.8")]


def test_a_measure_told_again_replaces_the_first(cart, manager):
    first = a_measure(cart, manager)
    about = {"mass_kg": D(500), "mass_typed": "500 kg"}
    who = {"by": manager, "at": LATER - DAY, "reason": "Read the wrong scale"}
    correct_stability(first, [], **who, **about)

    said = found(cart)
    assert (said.measure.mass_typed, said.measure.done_at) == ("500 kg", first.done_at)
    with pytest.raises(NotStanding):
        correct_stability(first, [], **who, **about)


def test_a_measure_taken_back_counts_no_more(cart, manager):
    first = a_measure(cart, manager)
    a_measure(cart, manager, at=MORNING + DAY, cg="24 in")
    strike(found(cart).measure, reason="Wrong cart", by=manager, at=LATER - DAY)

    assert found(cart).measure == first


def test_people_seated_are_left_out_where_their_mass_is_not_known():
    stance = stance_of(Weighed(1000 * LB, 35 * 25.4, 21 * 25.4))

    assert stance.seated is None
    # SSF = T / 2h (NHTSA): 35 / 42
    assert round(stance.empty.ssf, 4) == 0.8333


def test_people_ride_on_the_springs_wholly_and_the_cart_by_its_share():
    weighed = Weighed(100, 900, 500, people_kg=100, seated_mm=900)

    stance = stance_of(weighed, Shift(rise_mm=100, growth_mm=60))

    # 500 + 85 + 30; people 900 + 100 + 30; the mean of both
    assert (stance.empty.cg_mm, stance.seated.cg_mm) == (615, 822.5)


def test_a_measured_track_outranks_the_fittings_which_tells_the_one_before(cart, kit, manager):
    lift(cart, kit, manager, [("front", "34", "37"), ("rear", "36", "39")])
    a_measure(cart, manager, at=MORNING + 4 * DAY, is_lifted=True, track="38.5 in")

    said = found(cart)

    assert [inches(one.track_mm) for one in (said.before, said.now)] == [35, D("38.5")]
