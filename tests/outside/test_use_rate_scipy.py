"""The use rate against scipy.stats.theilslopes (Theil 1950; Sen 1968, equation 2.6)."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from fleet.usage import LifePoint, use_rate

DAY_0 = datetime(2026, 3, 2, 12, tzinfo=UTC)
HALF_DAYS = st.integers(0, 60 * 2)  # nearer readings are as tied in time
FEW_HALF_DAYS = st.integers(0, 8).map(lambda count: count * 4)
POINTS = st.lists(st.tuples(HALF_DAYS, st.integers(0, 400)), min_size=3, max_size=30)
TIED_POINTS = st.lists(st.tuples(FEW_HALF_DAYS, st.integers(0, 5)), min_size=4, max_size=20)


def agree(half_days_and_tenths: list[tuple[int, int]]) -> None:
    hours = [half_day * 12 for half_day, _ in sorted(half_days_and_tenths)]
    assume(len(set(hours)) >= 3 and hours[-1] - hours[0] >= 7 * 24)
    tenths = [tenth for _, tenth in sorted(half_days_and_tenths)]
    points = [
        LifePoint(DAY_0 + timedelta(hours=hour), Decimal(0), Decimal(tenth) / 10, False)
        for hour, tenth in zip(hours, tenths, strict=True)
    ]

    rate = use_rate(points, max_gap_days=60)

    with np.errstate(invalid="ignore"):
        theirs = theilslopes([tenth / 10 for tenth in tenths], [hour / 24 for hour in hours], 0.90)
    assume(not np.isnan(theirs.low_slope))  # scipy gives no range for a variance below zero
    assert float(rate.per_day) == pytest.approx(theirs.slope, rel=1e-9, abs=1e-9)
    assert float(rate.low) == pytest.approx(theirs.low_slope, rel=1e-9, abs=1e-9)
    assert float(rate.high) == pytest.approx(theirs.high_slope, rel=1e-9, abs=1e-9)


@given(POINTS)
def test_rate_and_range_agree_with_scipy(half_days_and_tenths):
    agree(half_days_and_tenths)


@given(TIED_POINTS)
def test_rate_and_range_agree_with_scipy_where_points_are_tied(half_days_and_tenths):
    agree(half_days_and_tenths)
