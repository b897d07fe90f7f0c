from functools import partial
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.settling import Asks, what_settles
from alignment.uncertainty import (
    CAMBER_REPEAT_DEG,
    CANT_TELL,
    INSIDE,
    OUTSIDE,
    TOE_REPEAT_MM,
    Component,
    pooled_repeat,
    square_standard_at,
    toe_standard_at,
    verdict,
)

INCH_MM = 25.4
SIXTEENTH_MM, THIRTY_SECOND_MM, SIXTY_FOURTH_MM = (INCH_MM / parts for parts in (16, 32, 64))
MARKS_MM = (SIXTEENTH_MM, THIRTY_SECOND_MM, SIXTY_FOURTH_MM)
TOE_MM = (INCH_MM / 8, INCH_MM / 4)
BY_HAND = partial(toe_standard_at, repeat=Component(TOE_REPEAT_MM))
BY_A_SQUARE = partial(
    square_standard_at, between_mm=11 * INCH_MM, repeat=Component(CAMBER_REPEAT_DEG)
)

values_mm = st.floats(0, 10)
in_hand = st.sampled_from(MARKS_MM)
repeats_mm = st.floats(0.1, 1.5)


def settled(value_mm, asks, repeat_mm):
    repeat = Component(repeat_mm)
    expanded_mm = toe_standard_at(asks.mark, asks.count, repeat=repeat).expanded
    return verdict(value_mm, *TOE_MM, expanded_mm)


def settles(value_mm, mark_mm, repeat_mm):
    standard_at = partial(toe_standard_at, repeat=Component(repeat_mm))
    return what_settles(value_mm, *TOE_MM, mark=mark_mm, marks=MARKS_MM, standard_at=standard_at)


def test_toe_in_the_middle_is_settled_by_two_readings_in_sixteenths():
    asks = what_settles(
        3 / 16 * INCH_MM, *TOE_MM, mark=SIXTEENTH_MM, marks=MARKS_MM, standard_at=BY_HAND
    )

    # to each limit 0.0625 in; U of one 0.0648 in, of two 0.0583 in
    assert asks == Asks(2, SIXTEENTH_MM)


def test_camber_of_three_tenths_wants_another_mark_than_sixteenths():
    asks = what_settles(
        0.3, -0.5, 0.5, mark=SIXTEENTH_MM, marks=MARKS_MM, standard_at=BY_A_SQUARE, most=3
    )

    # to the limit 0.2; U of three in 16ths 0.29, of two in 32nds 0.194
    assert asks == Asks(2, THIRTY_SECOND_MM)


def test_toe_at_its_limit_is_settled_by_nothing():
    asks = what_settles(TOE_MM[1], *TOE_MM, mark=SIXTEENTH_MM, marks=MARKS_MM, standard_at=BY_HAND)

    assert asks is None


def test_what_settles_passes_over_the_next_mark_when_only_a_finer_one_does():
    # U of five in 16ths 0.0542 in, in 32nds 0.0312, in 64ths 0.0219
    value_mm = TOE_MM[1] - 0.025 * INCH_MM

    asks = what_settles(value_mm, *TOE_MM, mark=SIXTEENTH_MM, marks=MARKS_MM, standard_at=BY_HAND)

    assert asks == Asks(4, SIXTY_FOURTH_MM)


def test_what_settles_takes_marks_in_any_order_and_never_a_coarser_one():
    asks = what_settles(
        3 / 16 * INCH_MM + 0.7,
        *TOE_MM,
        mark=THIRTY_SECOND_MM,
        marks=[SIXTY_FOURTH_MM, SIXTEENTH_MM, THIRTY_SECOND_MM],
        standard_at=BY_HAND,
    )

    # to the limit 0.0349 in; U of two 0.0381 in, of three 0.0344 in
    assert asks == Asks(3, THIRTY_SECOND_MM)


def test_what_settles_of_readings_that_scatter_wants_more_of_them():
    readings_mm = [each * INCH_MM for each in (1 / 8, 3 / 16, 1 / 4)]
    scattered = partial(toe_standard_at, repeat=pooled_repeat([readings_mm], TOE_REPEAT_MM))

    asks = [
        what_settles(
            3 / 16 * INCH_MM, *TOE_MM, mark=THIRTY_SECOND_MM, marks=MARKS_MM, standard_at=each
        )
        for each in (BY_HAND, scattered)
    ]

    assert asks == [Asks(1, THIRTY_SECOND_MM), Asks(5, THIRTY_SECOND_MM)]


def test_what_settles_refuses_no_reading():
    with pytest.raises(ValueError, match="most must be at least 1, not 0"):
        what_settles(1, 0, 2, mark=1, marks=[1], standard_at=BY_HAND, most=0)


@given(values_mm, in_hand, repeats_mm)
def test_what_settles_is_true(value_mm, mark_mm, repeat_mm):
    asks = settles(value_mm, mark_mm, repeat_mm)

    assert asks is None or settled(value_mm, asks, repeat_mm) in (INSIDE, OUTSIDE)


@given(values_mm, in_hand, repeats_mm)
def test_what_settles_is_the_least(value_mm, mark_mm, repeat_mm):
    asks = settles(value_mm, mark_mm, repeat_mm)

    usable = [mark for mark in MARKS_MM if mark <= mark_mm]
    less = [
        Asks(count, mark)
        for mark, count in product(usable, range(1, 6))
        if asks is None or (-mark, count) < (-asks.mark, asks.count)
    ]
    assert all(settled(value_mm, each, repeat_mm) == CANT_TELL for each in less)
    assert asks is None or asks.mark in usable


@given(st.floats(-10, 10), in_hand)
def test_what_settles_is_the_same_for_the_mirrored_value(value, mark_mm):
    here, mirrored = (
        what_settles(each, -0.5, 0.5, mark=mark_mm, marks=MARKS_MM, standard_at=BY_A_SQUARE)
        for each in (value, -value)
    )

    assert here == mirrored
