from math import inf, nan, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.uncertainty import (
    CAMBER_REPEAT_DEG,
    CANT_TELL,
    INSIDE,
    OUTSIDE,
    TOE_REPEAT_MM,
    Combined,
    Component,
    combined,
    count_of_groups,
    gauge_standard,
    mark_standard,
    mean_of_groups,
    pooled_repeat,
    probability_inside,
    scatters,
    square_standard,
    square_standard_at,
    toe_standard,
    toe_standard_at,
    verdict,
)

INCH_MM = 25.4
SIXTEENTH_MM, THIRTY_SECOND_MM = INCH_MM / 16, INCH_MM / 32
LIMITS_MM = (INCH_MM / 8, INCH_MM / 4)
KNOWN = Component(CAMBER_REPEAT_DEG)

marks_mm = st.floats(0.1, 3)
finer = st.floats(0.05, 1)
toes_mm = st.lists(st.floats(-15, 15), min_size=1, max_size=5)
standards = st.floats(0, 5)
components = st.builds(Component, st.floats(0.001, 5), st.floats(1, 50))


@pytest.mark.parametrize(
    ("mark_mm", "count", "expanded_deg"),
    [(SIXTEENTH_MM, 1, 0.33), (SIXTEENTH_MM, 3, 0.29), (THIRTY_SECOND_MM, 3, 0.18)],
)
def test_square_standard_over_eleven_inches(mark_mm, count, expanded_deg):
    standard = square_standard(mark_mm, 11 * INCH_MM, [0.3] * count)

    assert standard.expanded == pytest.approx(expanded_deg, abs=0.005)


@pytest.mark.parametrize(
    ("mark_mm", "count", "word"), [(SIXTEENTH_MM, 1, CANT_TELL), (THIRTY_SECOND_MM, 3, INSIDE)]
)
def test_three_tenths_of_a_degree_against_half_a_degree(mark_mm, count, word):
    standard = square_standard(mark_mm, 11 * INCH_MM, [0.3] * count)

    assert verdict(0.3, -0.5, 0.5, standard.expanded) == word


@pytest.mark.parametrize(
    ("mark_mm", "count", "expanded_in"), [(SIXTEENTH_MM, 1, 0.065), (THIRTY_SECOND_MM, 3, 0.034)]
)
def test_toe_standard_of_a_tape(mark_mm, count, expanded_in):
    standard = toe_standard(mark_mm, [4.76] * count)

    assert standard.expanded / INCH_MM == pytest.approx(expanded_in, abs=0.0005)


def test_one_pass_of_a_tape_in_sixteenths_never_proves_toe_in():
    expanded_mm = toe_standard(SIXTEENTH_MM, [3 / 16 * INCH_MM]).expanded

    assert verdict(3 / 16 * INCH_MM, *LIMITS_MM, expanded_mm) == CANT_TELL
    assert 2 * expanded_mm > LIMITS_MM[1] - LIMITS_MM[0]


def test_three_readings_in_thirty_seconds_prove_toe_in_with_two_degrees_of_freedom():
    readings_mm = [each * INCH_MM for each in (3 / 16, 7 / 32, 5 / 32)]

    standard = toe_standard(THIRTY_SECOND_MM, readings_mm)

    assert standard.expanded / INCH_MM == pytest.approx(0.0442, abs=5e-5)
    assert verdict(mean_of_groups(readings_mm), *LIMITS_MM, standard.expanded) == INSIDE
    # u^4 / (u_s^4 / 2), u_s = 1/32 / sqrt 3
    assert standard.freedom == pytest.approx(4.5, abs=1e-9)


def test_gauge_standard_has_a_mark_and_a_repeat():
    # sqrt((0.1 / 2 / sqrt 3)^2 + 0.10^2)
    assert gauge_standard(0.1, [0.2]).standard == pytest.approx(0.10408, abs=1e-5)
    assert gauge_standard(0.1, [0.2]).freedom == inf


def test_pooled_repeat_takes_the_scatter_when_it_is_larger():
    assert pooled_repeat([[0.1875, 0.21875, 0.15625]], 0.02) == Component(0.03125, 2)
    assert pooled_repeat([[0.1875, 0.1875]], 0.02) == Component(0.02)
    assert pooled_repeat([[5.0]], 0.02) == Component(0.02)


def test_pooled_repeat_takes_no_bent_rim_for_scatter():
    straight, turned = [0.5, 0.7], [-0.5, -0.3, -0.1]

    repeat = pooled_repeat([straight, turned], 0.1)

    # (0.02 + 0.08) / 3
    assert (repeat.standard, repeat.freedom) == (pytest.approx(sqrt(0.1 / 3)), 3)


def test_mean_of_groups_cancels_a_bent_rim():
    assert mean_of_groups([0.75, 0.75, 0.75], [-0.25]) == 0.25
    assert mean_of_groups([0.75], []) == 0.75


def test_count_of_groups_is_that_of_all_readings_in_equal_groups():
    assert count_of_groups([1, 2, 3]) == 3
    assert count_of_groups([1, 2], [3, 4]) == 4
    assert count_of_groups([1, 2], [3]) == pytest.approx(8 / 3)
    assert count_of_groups([1], []) == 1


def test_square_standard_of_both_halves_of_a_turn():
    both = square_standard(SIXTEENTH_MM, 280, [0.9, 0.9], [-0.1])

    assert both == square_standard_at(SIXTEENTH_MM, 8 / 3, between_mm=280, repeat=KNOWN)


@pytest.mark.parametrize("of_readings", [mean_of_groups, count_of_groups])
@pytest.mark.parametrize("groups", [(), ([],), ([], [])])
def test_groups_without_a_reading_are_refused(of_readings, groups):
    with pytest.raises(ValueError, match="not none"):
        of_readings(*groups)


def test_pooled_repeat_refuses_no_reading():
    with pytest.raises(ValueError, match="not none"):
        pooled_repeat([], 0.02)


def test_combined_adds_squares_and_weighs_freedom():
    both = combined(Component(3, 4), Component(4))

    assert both.standard == 5
    assert both.expanded == 10
    assert both.freedom == pytest.approx(5**4 / (3**4 / 4))


def test_combined_of_known_parts_is_known():
    assert combined(Component(3), Component(4)) == Combined(5.0, inf)
    assert combined(Component(0, 2), Component(0)) == Combined(0.0, inf)


def test_combined_refuses_nothing():
    with pytest.raises(ValueError, match="not none"):
        combined()


@given(st.lists(components, min_size=1, max_size=5))
def test_combined_has_freedom_between_the_least_and_the_sum(parts):
    freedom = combined(*parts).freedom

    assert min(one.freedom for one in parts) <= freedom * (1 + 1e-9)
    assert freedom <= sum(one.freedom for one in parts) * (1 + 1e-9)


@given(components, components, components)
def test_combined_in_steps_is_combined_at_once(first, second, third):
    in_steps, at_once = combined(combined(first, second), third), combined(first, second, third)

    assert in_steps.standard == pytest.approx(at_once.standard)
    assert in_steps.freedom == pytest.approx(at_once.freedom)


@pytest.mark.parametrize("wrong", [(-1, 2), (nan, 2), (inf, 2), (1, 0), (1, nan)])
def test_component_refuses_what_is_no_uncertainty(wrong):
    with pytest.raises(ValueError, match="must be"):
        Component(*wrong)


@pytest.mark.parametrize("mark", [0, -1, nan])
def test_mark_standard_refuses_what_is_no_mark(mark):
    with pytest.raises(ValueError, match="mark must be above 0"):
        mark_standard(mark)


def test_square_standard_refuses_no_height():
    with pytest.raises(ValueError, match="between_mm"):
        square_standard(1, 0, [0.1])


def test_toe_standard_at_refuses_no_reading():
    with pytest.raises(ValueError, match="count must be above 0"):
        toe_standard_at(1, 0, repeat=KNOWN)


@given(marks_mm, st.integers(1, 4), st.floats(0.01, 3), st.floats(1, 4))
def test_more_readings_of_the_same_scatter_never_widen(mark_mm, count, repeat_mm, freedom):
    repeat = Component(repeat_mm, freedom)

    fewer, more = (toe_standard_at(mark_mm, n, repeat=repeat) for n in (count, count + 1))

    assert more.standard < fewer.standard


@given(marks_mm, st.integers(1, 1000))
def test_the_tapes_share_does_not_shrink_by_repeating(mark_mm, count):
    standard = toe_standard_at(mark_mm, count, repeat=Component(TOE_REPEAT_MM)).standard

    assert standard > sqrt(2) * mark_standard(mark_mm)


def test_scatters_where_a_tape_in_thirty_seconds_was_read_a_quarter_inch_apart():
    of_one = toe_standard(THIRTY_SECOND_MM, [0]).standard

    assert scatters([3.175, 9.525], of_one)
    assert not scatters([each * INCH_MM for each in (3 / 16, 7 / 32, 5 / 32)], of_one)
    assert not scatters([3.175], of_one)


@pytest.mark.parametrize(("count", "bound"), [(2, 2.576), (3, 3.035), (4, 3.368), (5, 3.644)])
def test_scatters_beyond_the_bound_of_its_count(count, bound):
    # spread so that the root of (n - 1) s^2 / u^2 is just below, just above the bound
    of_one = 0.5
    apart = [-sqrt(1 / 2) * of_one, sqrt(1 / 2) * of_one] + [0] * (count - 2)

    assert not scatters([each * (bound - 0.001) for each in apart], of_one)
    assert scatters([each * (bound + 0.001) for each in apart], of_one)


def test_scatters_refuses_six_readings_and_no_standard():
    with pytest.raises(ValueError, match="five at most, not 6"):
        scatters([0] * 6, 1)
    with pytest.raises(ValueError, match="standard_of_one must be above 0"):
        scatters([0, 0], 0)


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


@given(st.floats(-5, 5), standards, standards)
def test_verdict_once_proved_stays_with_a_smaller_uncertainty(value, first, second):
    smaller, larger = sorted([first, second])

    assert verdict(value, -0.5, 0.5, larger) in (CANT_TELL, verdict(value, -0.5, 0.5, smaller))


@given(toes_mm, marks_mm, finer)
def test_verdict_of_toe_is_never_undone_by_a_finer_mark(readings_mm, mark_mm, share):
    value = mean_of_groups(readings_mm)

    coarse, fine = (
        verdict(value, *LIMITS_MM, toe_standard(mark, readings_mm).expanded)
        for mark in (mark_mm, mark_mm * share)
    )

    assert coarse in (CANT_TELL, fine)


@given(st.floats(-5, 5), marks_mm, finer, st.floats(100, 600))
def test_verdict_of_camber_is_never_undone_by_a_finer_mark(value, mark_mm, share, between_mm):
    coarse, fine = (
        verdict(value, -0.5, 0.5, square_standard(mark, between_mm, [value]).expanded)
        for mark in (mark_mm, mark_mm * share)
    )

    assert coarse in (CANT_TELL, fine)


@given(st.floats(-5, 5), standards)
def test_verdict_is_the_same_for_the_mirrored_value(value, expanded):
    assert verdict(value, -0.5, 0.5, expanded) == verdict(-value, -0.5, 0.5, expanded)


def test_probability_inside_without_uncertainty_decides():
    assert probability_inside(0.5, -0.5, 0.5, 0) == 1.0
    assert probability_inside(0.6, -0.5, 0.5, 0) == 0.0


def test_probability_inside_at_a_limit_is_a_half():
    assert probability_inside(0.5, -inf, 0.5, 0.1) == 0.5
    assert probability_inside(0.5, -0.5, 0.5, 0.1) == pytest.approx(0.5, abs=1e-12)


@given(st.floats(-5, 5), standards)
def test_probability_inside_agrees_with_the_verdict(value, standard):
    probability = probability_inside(value, -0.5, 0.5, standard)
    word = verdict(value, -0.5, 0.5, 2 * standard)

    assert 0 <= probability <= 1
    assert word != INSIDE or probability > 0.954
    assert word != OUTSIDE or probability < 0.023


@given(st.floats(-5, 5), standards)
def test_probability_inside_is_the_same_for_the_mirrored_value(value, standard):
    mirrored = probability_inside(-value, -0.5, 0.5, standard)

    assert probability_inside(value, -0.5, 0.5, standard) == pytest.approx(mirrored, abs=1e-12)


@pytest.mark.parametrize(
    ("wrong", "named"),
    [((0, 1, -1, 0.1), "low"), ((0, -1, 1, -0.1), "standard"), ((nan, -1, 1, 0.1), "value")],
)
def test_probability_inside_refuses_what_makes_no_sense(wrong, named):
    with pytest.raises(ValueError, match=named):
        probability_inside(*wrong)
