"""Steps followed to their end, after a kerb hit, and where turning is left alone."""

import random
from dataclasses import replace
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.judging import judge
from alignment.next_step import (
    DONE,
    DRIVE,
    KERB_HIT,
    LEFT_OPEN,
    LOOK_AT_TURN,
    LOOK_FOR_PART,
    MORE_READINGS,
    ODD_READING,
    READ_AGAIN,
    READ_CAMBER,
    READ_TOE,
    TOO_FAR,
    TURN_ROD,
    TURN_SLEEVE,
)
from alignment.order import slips
from alignment.readings import Limits
from alignment.settling import Asks
from alignment.uncertainty import CANT_TELL, INSIDE
from tests.camber_toe_readings import MARK_MM, MIDDLE, RODS, UPRIGHT, a_sheet, gauges, toes, told
from tests.simulated_cart import INCH_MM, Mechanic, SimulatedCart


def test_a_cart_is_brought_in_from_a_degree_and_a_half_and_half_an_inch():
    cart = SimulatedCart({"left": -1.5, "right": -1.5}, INCH_MM / 2, repeat_deg=0, repeat_mm=0)
    mechanic = Mechanic(cart, a_sheet())
    mechanic.read(("camber left", "camber right", "toe"), 3)

    steps = mechanic.work()

    assert [step.kind for step in steps] == [
        TURN_SLEEVE,
        READ_CAMBER,
        READ_TOE,
        TURN_ROD,
        READ_TOE,
        DRIVE,
        READ_AGAIN,
        DONE,
    ]
    assert judge(mechanic.sheet).verdict == INSIDE
    assert slips(mechanic.sheet, camber_adjusts="sleeve") == ()


def simulated(seed, left_deg, right_deg, toe_in, *shares):
    chance = random.Random(seed)
    lean = {"left": left_deg, "right": right_deg}
    cart = SimulatedCart(lean, toe_in * INCH_MM, *shares, chance=chance)
    return Mechanic(cart, a_sheet())


cambers_deg, shares = st.floats(-3, 3), st.floats(0.6, 1.5)


@given(st.integers(0), cambers_deg, cambers_deg, st.floats(-0.5, 0.5), shares, shares)
def test_following_each_step_comes_to_an_end_inside_and_never_out_of_order(
    seed, left_deg, right_deg, toe_in, rod_share, sleeve_share
):
    mechanic = simulated(seed, left_deg, right_deg, toe_in, rod_share, sleeve_share)

    steps = mechanic.work()

    judged = judge(mechanic.sheet)
    if steps[-1].kind == LOOK_AT_TURN:
        # little of a small turn was read
        assert min(rod_share, sleeve_share) < 0.75
    else:
        assert (steps[-1].kind, judged.verdict) in [(DONE, INSIDE), (LEFT_OPEN, CANT_TELL)]
    assert slips(mechanic.sheet, camber_adjusts="sleeve") == ()


def test_following_each_step_takes_few_passes():
    chance, ends, passes, are_in = random.Random(4), [], [], []
    for seed in range(200):
        figures = [chance.uniform(-3, 3), chance.uniform(-3, 3), chance.uniform(-0.5, 0.5)]
        mechanic = simulated(seed, *figures, chance.uniform(0.6, 1.5), chance.uniform(0.6, 1.5))
        ends.append(mechanic.work()[-1].kind)
        passes.append(mechanic.pass_no)
        are_in.append(is_truly_in(mechanic.cart))

    assert ends.count(DONE) >= 190
    assert median(passes) <= 7
    assert all(are_in)


def is_truly_in(cart):
    left, right = cart.camber_deg.values()
    return (
        max(abs(left), abs(right), abs(left - right)) <= 0.5
        and 1 / 8 <= (cart.toe_mm / INCH_MM) <= 1 / 4
    )


@pytest.mark.parametrize(
    ("cambers", "read", "names"),
    [
        (gauges(-1.5, 0.0), (), ("camber left", "side to side")),
        (UPRIGHT, toes(1 / 2), ("toe",)),
    ],
)
def test_a_bend_after_a_kerb_hit_is_looked_for_and_not_turned_out(cambers, read, names):
    step = told(a_sheet(cambers, read), is_hit=True)

    assert (step.kind, step.reason, step.names) == (LOOK_FOR_PART, KERB_HIT, names)
    assert (step.corrections, step.flats) == ((), {})


def test_a_kerb_hit_with_all_inside_is_worked_as_any_other():
    assert told(a_sheet(UPRIGHT), is_hit=True).kind == READ_TOE
    assert told(a_sheet(UPRIGHT, MIDDLE), is_hit=True).kind == DONE


def test_nothing_is_turned_while_a_reading_is_odd():
    sheet = a_sheet(UPRIGHT, toes(0.75))

    assert told(sheet).kind == TURN_ROD
    assert (told(sheet, is_odd=True).kind, told(sheet, is_odd=True).flats) == (ODD_READING, {})


def test_more_than_five_turns_are_never_told():
    # 0.0802 in a flat of both rods
    far, farther = (a_sheet(UPRIGHT, toes(3 / 16 + flats * 0.0802)) for flats in (29, 32))

    assert (told(far).kind, told(far).most_flats) == (TURN_ROD, 29)
    step = told(farther)
    assert (step.kind, step.reason, step.corrections) == (LOOK_FOR_PART, TOO_FAR, ())


@pytest.mark.parametrize("moved", [0.02, -0.3])
def test_no_turn_is_told_on_top_of_one_that_did_nothing_or_the_other_way(moved):
    # four flats a side longer ought to have taken 0.32 in off
    read = [*toes(1 / 2), *toes(1 / 2 - moved, 2)]

    step = told(a_sheet(UPRIGHT, read, turns=RODS))

    assert (step.kind, step.names, step.flats) == (LOOK_AT_TURN, ("toe",), {})


def test_a_turn_is_told_again_once_the_last_one_moved_as_it_should():
    turns = [*RODS, *(replace(one, pass_no=3) for one in RODS)]
    read = [*toes(0.9), *toes(0.9, 2), *toes(0.6, 3)]

    assert told(a_sheet(UPRIGHT, read, turns=turns)).kind == TURN_ROD


def test_a_wheel_that_is_inside_is_left_alone_beside_one_that_is_outside():
    # turned to the middle the left one is 0.35 apart from the right one: not to be told yet
    step = told(a_sheet(gauges(-0.3, 0.9, count=5), limits=Limits(side_to_side_deg=2.0)))
    assert [one.at for one in step.corrections] == ["right"]

    limits = Limits(camber_low_deg=-0.4, camber_high_deg=0.8, side_to_side_deg=0.6)
    both_in = told(a_sheet(gauges(-0.2, 0.6, count=5), limits=limits))
    assert [one.at for one in both_in.corrections] == ["left", "right"]


def test_a_turn_to_the_middle_is_told_beside_many_readings():
    near, nearer = (toes(inches, count=1) for inches in (0.205, 0.22))
    few, many = (told(a_sheet(UPRIGHT, read)) for read in (near, nearer))

    assert (few.kind, many.kind) == (MORE_READINGS, MORE_READINGS)
    assert few.instead == ()
    assert {one.at: one.advice.flats for one in many.instead} == {"both": 0.5}
    assert many.flats == {}


def test_toe_that_one_pass_cannot_prove_is_said_to_be_read_more_often_from_the_start():
    narrow = Limits(toe_low_mm=3.8, toe_high_mm=5.5)

    assert told(a_sheet(UPRIGHT)).least is None
    assert told(a_sheet(UPRIGHT, limits=narrow)).least == Asks(4, MARK_MM)
    assert told(replace(a_sheet(UPRIGHT), mark_mm=2 * MARK_MM)).least == Asks(2, 2 * MARK_MM)
