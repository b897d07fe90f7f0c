"""What moved on a cart from sheet to sheet: proved beyond both uncertainties, or not told."""

import random
from datetime import UTC, datetime, timedelta

import pytest

from alignment.drift import (
    Measured,
    Visit,
    changes,
    drift,
    jump,
    moved_again,
    since_break,
    slope,
    steps,
)

FIRST = datetime(2026, 3, 2, 15, tzinfo=UTC)


def at(days):
    return FIRST + timedelta(days=days)


def seen(days, found, left=None, spread=0.1):
    """A visit that measured ``found``; with ``left``, one that turned and measured again."""
    one, other = (None if v is None else Measured(v, spread) for v in (found, left))
    return Visit(at(days), one, other or one, is_turned=left is not None)


def test_changes_compares_with_what_was_left_last():
    first, second = seen(0, -0.9, left=0.0), seen(30, -0.4)

    (change,) = changes([first, second])

    assert (change.since, change.at) == (at(0), at(30))
    assert (change.value, change.expanded) == pytest.approx((-0.4, 0.1 * 2**0.5))
    assert change.is_proved


@pytest.mark.parametrize(("value", "is_proved"), [(0.1, False), (-0.1414, False), (-0.1415, True)])
def test_a_change_is_proved_beyond_both_uncertainties(value, is_proved):
    (change,) = changes([seen(0, 0.0), seen(30, value)])

    assert change.is_proved is is_proved


def test_changes_add_a_slow_drift_up_over_visits_that_turned_nothing():
    visits = [seen(30 * n, -0.06 * n) for n in range(4)]

    found = changes(visits)

    assert [round(one.value, 2) for one in found] == [-0.06, -0.12, -0.18]
    assert [one.is_proved for one in found] == [False, False, True]
    assert {one.since for one in found} == {at(0)}


def test_changes_begin_again_at_each_adjustment():
    visits = [seen(0, 0.0), seen(30, -0.5, left=0.1), seen(60, 0.1)]

    assert [one.value for one in changes(visits)] == pytest.approx([-0.5, 0.0])


def test_changes_say_nothing_across_a_turn_whose_result_was_not_measured():
    turned_blind = Visit(at(30), Measured(-0.5, 0.1), None, is_turned=True)

    found = changes([seen(0, 0.0), turned_blind, seen(60, 0.4), seen(90, 0.5)])

    assert [(one.since, one.at) for one in found] == [(at(0), at(30)), (at(60), at(90))]


def test_changes_pass_over_a_visit_that_did_not_measure():
    nothing = Visit(at(30), None, None)

    (change,) = changes([seen(0, 0.0), nothing, seen(60, 0.4)])

    assert (change.since, change.value) == (at(0), 0.4)


def test_since_break_leaves_out_what_was_before_another_lift():
    visits = [seen(60, 0.4), seen(0, 0.0), seen(30, 0.2)]

    assert [one.at for one in since_break(visits, [at(10), at(30)])] == [at(30), at(60)]
    assert [one.at for one in since_break(visits, [])] == [at(0), at(30), at(60)]


def test_slope_looks_from_each_adjustment_to_the_next():
    visits = [seen(0, -0.2, left=0.3), seen(50, 0.2, left=0.6), seen(100, 0.5), seen(200, 0.3)]

    found = slope(visits)

    assert found.a_day == pytest.approx(-0.002)
    assert found.count == 4


def test_slope_takes_a_jump_that_was_put_right_for_no_drift():
    visits = [
        seen(0, 0.0),
        seen(50, 0.0),
        seen(100, -1.5, left=0.0),
        seen(150, 0.0),
        seen(200, 0.0),
    ]

    assert slope(visits).a_day == 0.0
    assert not slope(visits).is_proved


def test_slope_is_hardly_moved_by_one_wild_visit():
    values = [0.0, -0.1, -0.2, 2.0, -0.4, -0.5, -0.6]

    found = slope([seen(100 * n, value) for n, value in enumerate(values)])

    assert found.a_day == pytest.approx(-0.001)


def test_slope_rests_on_the_uncertainty_of_what_it_is_made_of():
    found = slope([seen(100 * n, -0.1 * n) for n in range(3)])

    each = 0.1 * 2**0.5 / 100  # of neighbours; half of that over both intervals
    assert found.a_day == pytest.approx(-0.001)
    assert (found.low, found.high) == pytest.approx((-0.001 - each, -0.001 + each))
    assert not found.is_proved
    assert slope([seen(100 * n, -0.2 * n) for n in range(3)]).is_proved


def test_slope_leaves_out_what_lies_across_a_turn_whose_result_was_not_measured():
    blind = Visit(at(10), None, None, is_turned=True)
    visits = [seen(0, 5.0), blind, *(seen(100 * n, -0.1 * n) for n in range(1, 4))]

    assert slope(visits).a_day == pytest.approx(-0.001)
    assert slope(visits).count == 3


@pytest.mark.parametrize("count", [0, 1, 2])
def test_slope_of_too_few_visits_is_none(count):
    assert slope([seen(100 * n, -0.1 * n) for n in range(count)]) is None


def test_slope_within_a_day_is_none():
    assert slope([seen(n / 10, 0.1 * n) for n in range(4)]) is None


def test_steps_go_from_what_one_left_to_what_the_next_met():
    nothing, blind = Visit(at(60), None, None), Visit(at(120), None, None, is_turned=True)
    visits = [
        seen(0, -0.5, left=0.1),
        nothing,
        seen(90, 0.3),
        blind,
        seen(150, 1.0),
        seen(180, 0.9),
    ]

    found = [(one.since, one.at, round(one.value, 3)) for one in steps(visits)]

    assert found == [(at(0), at(90), 0.2), (at(150), at(180), -0.1)]


def test_jump_is_the_largest_step_once_it_is_proved():
    assert jump([seen(0, 0.0), seen(30, -0.1), seen(60, 0.0)]) is None
    assert jump([]) is None

    found = jump([seen(0, 0.0), seen(30, 0.3), seen(60, -0.9)])

    assert (found.since, found.value) == (at(30), pytest.approx(-1.2))


# a cart whose toe was knocked, in degrees, and the next day put right
KNOCKED = [
    seen(0, 0.49, left=0.41),
    seen(14, 0.46),
    seen(15, 0.49),
    seen(52, 0.46),
    seen(94, -0.76),
    seen(95, -0.79, left=0.57),
]


@pytest.mark.parametrize("count", [5, 6])
def test_a_knock_is_a_jump_and_no_drift(count):
    visits = KNOCKED[:count]

    assert slope(KNOCKED).is_proved
    assert (jump(visits).since, jump(visits).at) == (at(52), at(94))
    assert drift(visits) is None


def test_a_knock_at_the_end_is_no_drift():
    visits = [seen(0, -0.1), seen(8, -0.15), seen(34, -0.2), seen(39, -1.2)]

    assert slope(visits).is_proved
    assert drift(visits) is None


def test_two_knocks_are_no_drift():
    visits = [seen(50 * n, value) for n, value in enumerate([0.0, -0.01, -0.8, -0.79, -1.6])]

    assert slope(visits).is_proved
    assert drift(visits) is None


@pytest.mark.parametrize("step", [-0.1, -0.3, 0.3])
def test_a_wheel_that_goes_on_and_on_drifts(step):
    visits = [seen(100 * n, step * n) for n in range(6)]

    assert drift(visits) == slope(visits)
    assert drift(visits).is_proved


def test_a_drift_takes_three_steps_that_show_it():
    assert drift([seen(100 * n, -0.3 * n) for n in range(3)]) is None
    assert drift([seen(100 * n, -0.14 * n) for n in range(4)]) is not None


def test_a_drift_that_was_put_right_in_between_still_is_one():
    visits = [
        seen(0, 0.0),
        seen(100, -0.3),
        seen(200, -0.6, left=0.0),
        seen(300, -0.3),
        seen(400, -0.6),
    ]

    assert drift(visits) == slope(visits)


def test_sheets_of_one_moment_are_no_drift():
    assert drift([seen(0, 0.0), *KNOCKED]) is None


@pytest.mark.parametrize(
    ("later", "is_again"),
    [
        ([], False),
        ([seen(120, 0.55)], False),
        ([seen(120, 0.55), seen(180, -0.2)], True),
        ([seen(120, 0.55), seen(180, -0.2, left=0.5), seen(240, 0.5)], False),
        ([seen(120, 0.55, left=0.4), seen(180, -0.2)], True),
    ],
    ids=["put right", "held", "moved again", "held again", "adjusted in between"],
)
def test_moved_again_takes_two_proved_moves(later, is_again):
    assert moved_again([*KNOCKED, *later]) is is_again


def test_moved_again_is_not_said_of_what_was_never_put_right():
    assert moved_again([seen(0, 0.0), seen(30, -0.9), seen(60, -1.8)]) is False


def test_measured_refuses_an_uncertainty_below_zero():
    with pytest.raises(ValueError, match=r"expanded must be at least 0, not -0\.1"):
        Measured(0.0, -0.1)


def read(truth, chance, spread=0.2):
    return Measured(chance.gauss(truth, spread / 2), spread)


def a_history(chance, drift_a_day, count=5):
    """Visits 60 days apart to a wheel that drifts, turned back to nought at every other one."""
    truth, visits = 0.0, []
    for n in range(count):
        found, is_turned = read(truth, chance), n % 2 == 1
        truth = 0.0 if is_turned else truth
        left = read(truth, chance) if is_turned else found
        visits.append(Visit(at(60 * n), found, left, is_turned))
        truth += 60 * drift_a_day
    return visits


@pytest.mark.parametrize("drift_a_day", [0.0, -0.004, 0.01])
def test_slope_holds_the_true_drift_in_95_of_100_histories(drift_a_day):
    chance = random.Random(7)
    found = [slope(a_history(chance, drift_a_day)) for _ in range(2000)]

    held = sum(one.low <= drift_a_day <= one.high for one in found)

    assert held >= 0.95 * len(found)


def test_a_change_is_proved_of_a_still_wheel_in_5_of_100_histories():
    chance = random.Random(7)
    found = [changes(a_history(chance, 0.0, count=2))[0] for _ in range(4000)]

    share = sum(one.is_proved for one in found) / len(found)

    # k = 2 covers 95.4 % of a normal distribution
    assert share == pytest.approx(0.0455, abs=0.01)
