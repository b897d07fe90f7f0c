"""Braking and how bigger tyres lengthen a stop, against numbers worked by hand."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.stopping import (
    LOOKED_INTO_BELOW,
    braking_share,
    growth_at_equal_speed,
    growth_at_new_top_speed,
    share_of_reference,
)

D = Decimal


def test_braking_from_10_metres_a_second_in_10_metres_is_half_of_gravity():
    # 10**2 / (2 * 10) = 5 m/s2, over 9.80665
    assert round(braking_share(D(20), D(2), D(10)), 4) == D("0.5099")


def test_a_stop_in_half_a_metre_is_read():
    # 1 m/s in 0.5 m is 1 m/s2
    assert round(braking_share(D("0.5"), D("0.5"), D("0.5")), 4) == D("0.1020")


def test_braking_refuses_no_distance():
    with pytest.raises(ValueError, match="stop_m must be above zero, not 0"):
        braking_share(D(20), D(2), D(0))


# common practice, no source: the trade's own figures
@pytest.mark.parametrize(
    ("to_in", "equal_speed", "new_top_speed"), [("20.5", "1.14", "1.48"), ("23", "1.28", "2.09")]
)
def test_a_stop_grows_from_18_inch_tyres(to_in, equal_speed, new_top_speed):
    from_mm, to_mm = D(18) * D("25.4"), D(to_in) * D("25.4")

    assert round(growth_at_equal_speed(from_mm, to_mm), 2) == D(equal_speed)
    assert round(growth_at_new_top_speed(from_mm, to_mm), 2) == D(new_top_speed)


@pytest.mark.parametrize("growth", [growth_at_equal_speed, growth_at_new_top_speed])
@pytest.mark.parametrize(
    ("from_mm", "to_mm", "said"), [(0, 500, "from_mm .*, not 0"), (500, -1, "to_mm .*, not -1")]
)
def test_growth_refuses_no_diameter(growth, from_mm, to_mm, said):
    with pytest.raises(ValueError, match=said):
        growth(D(from_mm), D(to_mm))


def test_share_of_reference_divides():
    assert share_of_reference(D("0.36"), D("0.45")) == LOOKED_INTO_BELOW == D("0.8")
    assert share_of_reference(D(0), D("0.45")) == 0


@pytest.mark.parametrize(
    ("braking_g", "reference_g", "said"),
    [("-0.1", "0.45", "braking_g .*, not -0.1"), ("0.4", "0", "reference_g .*, not 0")],
)
def test_share_of_reference_refuses(braking_g, reference_g, said):
    with pytest.raises(ValueError, match=said):
        share_of_reference(D(braking_g), D(reference_g))


LENGTHS = st.decimals(10, 500, places=2)
TIMES = st.decimals(1, 100, places=2)
DIAMETERS = st.decimals(300, 700, places=1)


@given(LENGTHS, TIMES, TIMES, LENGTHS)
def test_a_longer_stop_is_weaker_braking(marked, time, extra, stop):
    assert braking_share(marked, time, stop + extra) < braking_share(marked, time, stop)


@given(DIAMETERS, DIAMETERS)
def test_changing_tyres_back_takes_the_growth_back(one, other):
    for growth in (growth_at_equal_speed, growth_at_new_top_speed):
        assert abs(growth(one, other) * growth(other, one) - 1) < D("1e-25")


@given(DIAMETERS, DIAMETERS)
def test_a_stop_from_the_new_top_speed_grows_more(one, other):
    smaller, larger = sorted([one, other])

    equal_speed = growth_at_equal_speed(smaller, larger)
    assert 1 <= equal_speed <= growth_at_new_top_speed(smaller, larger)


@given(LENGTHS, TIMES, LENGTHS, DIAMETERS, DIAMETERS)
def test_growth_is_the_stop_that_the_weaker_braking_needs(marked, time, stop, one, other):
    """From v D'/D, with braking D/D' as hard, a stop takes (D'/D)**3 as long."""
    bigger = growth_at_equal_speed(one, other)

    braking = braking_share(marked * bigger, time, stop * growth_at_new_top_speed(one, other))

    assert abs(braking * bigger / braking_share(marked, time, stop) - 1) < D("1e-20")
