"""What moved on a cart from sheet to sheet: proved beyond both uncertainties, or not told."""

import random
from datetime import UTC, datetime, timedelta

import pytest

from alignment.drift import Measured, Visit, changes, since_break, slope

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
