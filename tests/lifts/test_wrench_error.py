"""What a wrench with known errors delivers, and when it is due."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.wrench_error import (
    ErrorPoint,
    breaks_tolerance,
    delivered_nm,
    due_on,
    error_at,
    is_due,
    is_out_of_tolerance,
    next_interval_days,
)

RISING = [ErrorPoint(20, -0.02), ErrorPoint(60, 0.06), ErrorPoint(100, 0.02)]
ERRORS = st.floats(-0.3, 0.3)
POINTS = st.lists(
    st.builds(ErrorPoint, st.floats(1, 400), ERRORS),
    min_size=1,
    max_size=6,
    unique_by=lambda point: point.set_nm,
)
TORQUES = st.floats(1, 500)


def flat(error):
    return [ErrorPoint(20, error), ErrorPoint(60, error), ErrorPoint(100, error)]


@pytest.mark.parametrize(
    ("set_nm", "error"),
    [
        (20, -0.02),
        (30, 0.0),
        (40, 0.02),
        (60, 0.06),
        (90, 0.03),
        (100, 0.02),
        (5, -0.02),
        (150, 0.02),
    ],
)
def test_an_error_is_linear_between_points_and_level_beyond_them(set_nm, error):
    assert error_at(RISING, Decimal(set_nm)) == pytest.approx(error)


@given(POINTS, TORQUES)
def test_the_order_of_points_does_not_matter(points, set_nm):
    assert error_at(points, set_nm) == error_at(points[::-1], set_nm)


@given(POINTS, TORQUES)
def test_an_error_lies_among_those_of_the_points(points, set_nm):
    errors = [point.error for point in points]

    assert min(errors) - 1e-12 <= error_at(points, set_nm) <= max(errors) + 1e-12


@given(POINTS)
def test_the_error_at_a_point_is_the_point_s(points):
    assert [error_at(points, point.set_nm) for point in points] == pytest.approx(
        [point.error for point in points]
    )


def test_no_point_is_refused():
    with pytest.raises(ValueError, match="at least one point"):
        error_at([], 40)
    with pytest.raises(ValueError, match="at least one point"):
        is_out_of_tolerance([], 0.04)


def test_two_points_at_one_torque_are_refused():
    with pytest.raises(ValueError, match=r"two points of a wrench stand at 20 N\.m"):
        error_at([*RISING, ErrorPoint(20, 0.1)], 40)


def test_a_setting_of_nothing_is_refused():
    with pytest.raises(ValueError, match="set_nm must be above zero, not 0"):
        delivered_nm(RISING, 0)


@pytest.mark.parametrize(("error", "delivered"), [(-0.12, 35.2), (-0.07, 37.2), (0.05, 42.0)])
def test_a_negative_error_delivers_low(error, delivered):
    assert delivered_nm(flat(error), Decimal(40)) == pytest.approx(delivered)


@pytest.mark.parametrize(
    ("error", "breaks"), [(-0.12, True), (-0.07, False), (0.0, False), (0.09, False), (0.11, True)]
)
def test_the_default_band_is_ten_percent_either_side(error, breaks):
    assert breaks_tolerance(flat(error), 40) is breaks


@pytest.mark.parametrize(
    ("bounds", "breaks"),
    [
        ({"low_nm": Decimal(34)}, False),
        ({"low_nm": Decimal("37.5")}, True),
        ({"high_nm": 40}, False),
        ({"low_nm": 34, "high_nm": 50}, False),
    ],
)
def test_a_joint_s_own_band_decides(bounds, breaks):
    assert breaks_tolerance(flat(-0.07), 40, **bounds) is breaks


@given(TORQUES, st.sampled_from([-0.1, 0.1]))
def test_a_bound_itself_is_inside(target, error):
    assert not breaks_tolerance(flat(error), target)
    assert breaks_tolerance(flat(error * 1.0001), target)


def test_a_wrench_found_out_by_14_percent_breaks_ten_percent_but_not_twenty():
    assert breaks_tolerance(flat(-0.14), 40)
    assert not breaks_tolerance(flat(-0.14), 40, 32, 48)


def test_an_error_breaks_only_the_joints_near_it():
    low_down = [ErrorPoint(20, -0.2), ErrorPoint(60, -0.04), ErrorPoint(100, -0.01)]

    assert [breaks_tolerance(low_down, target) for target in (20, 40, 60, 90)] == [
        True,
        True,
        False,
        False,
    ]


@pytest.mark.parametrize(
    ("errors", "is_out"),
    [((0.04, -0.04), False), ((0.01, -0.041), True), ((0.041, 0.0), True), ((0.0, 0.0), False)],
)
def test_one_point_out_is_a_wrench_out(errors, is_out):
    points = [ErrorPoint(20 * place, error) for place, error in enumerate(errors, 1)]

    assert is_out_of_tolerance(points, Decimal("0.04")) is is_out


def test_an_error_worked_out_at_the_tolerance_is_not_out():
    assert not is_out_of_tolerance([ErrorPoint(50, 52 / 50 - 1)], 0.04)


def test_an_interval_is_halved_each_time_a_wrench_is_found_out():
    first = next_interval_days(True)
    second = next_interval_days(True, first)

    assert (first, second) == (182, 91)


def test_an_interval_is_the_default_again_after_a_wrench_was_found_good():
    assert next_interval_days(False, 91) == 365
    assert next_interval_days(False, 91, default=180) == 180


def test_an_interval_never_falls_below_a_day():
    assert next_interval_days(True, 1) == 1


@pytest.mark.parametrize("wrong", [{"last_days": 0}, {"default": 0}])
def test_an_interval_of_no_days_is_refused(wrong):
    with pytest.raises(ValueError, match="at least one day, not 0"):
        next_interval_days(True, **wrong)


def test_a_calibration_holds_a_year():
    assert due_on(date(2025, 6, 6)) == date(2026, 6, 6)
    assert due_on(date(2026, 6, 6), 182) == date(2026, 12, 5)


@pytest.mark.parametrize(
    ("today", "pulls", "expected"),
    [
        (date(2026, 6, 6), 0, False),
        (date(2026, 6, 7), 0, True),
        (date(2026, 1, 1), 4_999, False),
        (date(2026, 1, 1), 5_000, True),
    ],
)
def test_a_wrench_is_due_after_its_last_day_or_its_last_pull(today, pulls, expected):
    assert is_due(today, date(2026, 6, 6), pulls) is expected


def test_a_wrench_is_due_after_the_pulls_of_one_s_own_procedure():
    assert is_due(date(2026, 1, 1), date(2026, 6, 6), 2_000, 2_000)
