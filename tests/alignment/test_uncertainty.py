import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.uncertainty import (
    CANT_TELL,
    INSIDE,
    OUTSIDE,
    gauge_standard_deg,
    mark_standard,
    repeat_of,
    square_standard_deg,
    toe_standard_mm,
    verdict,
)

INCH_MM = 25.4
SIXTEENTH_MM, THIRTY_SECOND_MM = INCH_MM / 16, INCH_MM / 32


@pytest.mark.parametrize(
    ("mark_mm", "count", "expanded_deg"),
    [(SIXTEENTH_MM, 1, 0.33), (SIXTEENTH_MM, 3, 0.29), (THIRTY_SECOND_MM, 3, 0.18)],
)
def test_square_standard_deg_over_eleven_inches(mark_mm, count, expanded_deg):
    standard = square_standard_deg(mark_mm, 11 * INCH_MM, [0.3] * count)

    assert 2 * standard == pytest.approx(expanded_deg, abs=0.005)


@pytest.mark.parametrize(
    ("mark_mm", "count", "expanded_in"), [(SIXTEENTH_MM, 1, 0.065), (THIRTY_SECOND_MM, 3, 0.034)]
)
def test_toe_standard_mm_of_a_tape(mark_mm, count, expanded_in):
    standard = toe_standard_mm(mark_mm, [4.76] * count)

    assert 2 * standard / INCH_MM == pytest.approx(expanded_in, abs=0.0005)


def test_gauge_standard_deg_has_a_mark_and_a_repeat():
    # sqrt((0.1 / 2 / sqrt 3)^2 + 0.10^2)
    assert gauge_standard_deg(0.1, [0.2]) == pytest.approx(0.10408, abs=1e-5)


def test_repeat_of_takes_the_scatter_when_it_is_larger():
    assert repeat_of([0.1875, 0.21875, 0.15625], 0.02) == pytest.approx(0.03125)
    assert repeat_of([0.1875, 0.1875], 0.02) == 0.02
    assert repeat_of([5.0], 0.02) == 0.02


def test_repeat_of_refuses_no_reading():
    with pytest.raises(ValueError, match="not none"):
        repeat_of([], 0.02)


@pytest.mark.parametrize("mark", [0, -1, float("nan")])
def test_mark_standard_refuses_what_is_no_mark(mark):
    with pytest.raises(ValueError, match="mark must be above 0"):
        mark_standard(mark)


def test_square_standard_deg_refuses_no_height():
    with pytest.raises(ValueError, match="between_mm"):
        square_standard_deg(1, 0, [0.1])


@pytest.mark.parametrize(
    ("value", "expanded", "word"),
    [
        (0, 0.25, INSIDE),
        (0.25, 0.25, INSIDE),
        (0.375, 0.25, CANT_TELL),
        (0.75, 0.25, CANT_TELL),
        (0.875, 0.25, OUTSIDE),
        (-0.25, 0.25, INSIDE),
        (-0.375, 0.25, CANT_TELL),
        (-0.75, 0.25, CANT_TELL),
        (-0.875, 0.25, OUTSIDE),
        (0, 1, CANT_TELL),
    ],
)
def test_verdict_proves_or_says_that_it_cannot(value, expanded, word):
    assert verdict(value, -0.5, 0.5, expanded) == word


@pytest.mark.parametrize("wrong", [(0, 1, -1, 0.1), (0, -1, 1, -0.1)])
def test_verdict_refuses_crossed_limits_and_a_minus_uncertainty(wrong):
    with pytest.raises(ValueError):
        verdict(*wrong)


@given(
    st.lists(st.floats(-15, 15), min_size=1, max_size=5),
    st.floats(0.1, 3),
    st.floats(0.05, 1),
)
def test_verdict_of_toe_is_never_undone_by_a_finer_mark(readings_mm, mark_mm, finer):
    value = sum(readings_mm) / len(readings_mm)
    coarse = verdict(value, 3.175, 6.35, 2 * toe_standard_mm(mark_mm, readings_mm))

    fine = verdict(value, 3.175, 6.35, 2 * toe_standard_mm(mark_mm * finer, readings_mm))

    assert coarse in (CANT_TELL, fine)


@given(st.floats(-5, 5), st.floats(0.1, 3), st.floats(0.05, 1), st.floats(100, 600))
def test_verdict_of_camber_is_never_undone_by_a_finer_mark(value, mark_mm, finer, between_mm):
    coarse, fine = (
        verdict(value, -0.5, 0.5, 2 * square_standard_deg(mark, between_mm, [value]))
        for mark in (mark_mm, mark_mm * finer)
    )

    assert coarse in (CANT_TELL, fine)


@given(st.floats(-5, 5), st.floats(0, 3))
def test_verdict_is_the_same_for_the_mirrored_value(value, expanded):
    assert verdict(value, -0.5, 0.5, expanded) == verdict(-value, -0.5, 0.5, expanded)
