"""What a nut got from a wrench that was off, worked by hand."""

from math import cos, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.delivered import Arm, delivered
from lifts.wrench_error import ErrorPoint, breaks_tolerance


def off_by(*errors, at=(20, 60, 100)):
    return [ErrorPoint(nm, error) for nm, error in zip(at, errors, strict=True)]


ALL_LOW = off_by(-0.14, -0.14, -0.14)


@pytest.mark.parametrize(
    ("error", "low", "high", "is_under", "is_over"),
    [
        (-0.12, None, None, True, False),  # 35.2 of 40, below 36
        (-0.07, None, None, False, False),  # 37.2
        (-0.10, None, None, False, False),  # 36 itself is inside
        (0.10, None, None, False, False),
        (0.11, None, None, False, True),
        (-0.14, 34, None, False, False),  # 34.4: the joint allows 15 %
        (-0.14, 34.5, None, True, False),
        (0.14, None, 45.6, False, False),
        (0.14, None, 45.5, False, True),
    ],
)
def test_40_newton_metres_against_what_a_joint_allows(error, low, high, is_under, is_over):
    got = delivered(off_by(error, error, error), 40, low, high)

    assert got.nm == pytest.approx(40 * (1 + error))
    assert (got.is_under, got.is_over) == (is_under, is_over)
    assert got.breaks is (is_under or is_over)


def test_the_error_is_linear_between_the_points_at_the_target():
    points = off_by(-0.14, -0.06, 0)

    assert delivered(points, 40).error == pytest.approx(-0.10)
    assert delivered(points, 50).nm == pytest.approx(50 * 0.92)
    assert delivered(points, 10).error == -0.14


def test_through_an_adapter_the_error_is_that_of_the_setting():
    points = off_by(-0.14, -0.06, 0)
    ahead = Arm(wrench_mm=300, adapter_mm=100, adapter_deg=0)

    got = delivered(points, 40, arm=ahead)  # set 40 * 300 / 400 = 30

    assert got.error == pytest.approx(-0.12)
    assert got.nm == pytest.approx(35.2)
    across = Arm(300, 100, 90)
    assert delivered(points, 40, arm=across).error == pytest.approx(-0.10)
    slanted = 40 * 300 / (300 + 100 * cos(radians(45)))
    expected = -0.14 + 0.08 * (slanted - 20) / 40
    assert delivered(points, 40, arm=Arm(300, 100, 45)).error == pytest.approx(expected)


@pytest.mark.parametrize(
    "arm", [Arm(None, 100, 0), Arm(300, None, 0), Arm(300, 100), Arm(100, 100, 180)]
)
def test_an_arm_that_is_not_known_counts_as_none(arm):
    assert delivered(off_by(-0.14, -0.06, 0), 40, arm=arm).error == pytest.approx(-0.10)


@pytest.mark.parametrize(("low", "high"), [(41, None), (None, 39), (45, 50)])
def test_bounds_that_leave_the_target_outside_count_as_not_given(low, high):
    got = delivered(ALL_LOW, 40, low, high)

    assert (got.low_nm, got.high_nm, got.is_band_own) == (36, 44, False)
    assert delivered(ALL_LOW, 40, 35, 44).is_band_own
    assert not delivered(ALL_LOW, 40).is_band_own


@given(
    errors=st.tuples(*[st.floats(-0.3, 0.3)] * 3),
    target=st.floats(5, 150),
    down=st.none() | st.floats(0, 0.3),
    up=st.none() | st.floats(0, 0.3),
)
def test_it_breaks_where_the_wrench_breaks_it_without_an_adapter(errors, target, down, up):
    low = None if down is None else target * (1 - down)
    high = None if up is None else target * (1 + up)
    points = off_by(*errors)

    assert delivered(points, target, low, high).breaks == breaks_tolerance(
        points, target, low, high
    )
