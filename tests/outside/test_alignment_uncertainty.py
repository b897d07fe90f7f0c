"""Uncertainties against the GUM's constants, printed examples, and reference libraries.

`uncertainties` carries errors through formulas by itself; scipy has the distributions.
Trials by lot follow JCGM 101:2008: draw what a reading hides, look at the spread.
"""

from math import hypot, inf, sqrt

import numpy as np
import pytest
from scipy import integrate, optimize, stats
from uncertainties import ufloat, umath

from alignment.geometry import toe_total_deg
from alignment.uncertainty import (
    CAMBER_REPEAT_DEG,
    CANT_TELL,
    COVERAGE,
    INSIDE,
    SCATTER_BOUNDS,
    TOE_REPEAT_MM,
    Component,
    combined,
    count_of_groups,
    gauge_standard,
    mark_standard,
    mean_of_groups,
    pooled_repeat,
    probability_inside,
    square_standard,
    toe_standard,
    verdict,
)

INCH_MM = 25.4


def rectangular(half_width):
    return Component(mark_standard(2 * half_width))


def triangular(half_width):
    """JCGM 100:2008 4.3.9."""
    return Component(half_width / sqrt(6))


def test_a_mark_has_the_constant_of_the_gum():
    """JCGM 100:2008 F.2.2.1 prints 0.29 of the step; 4.3.7: half-width over sqrt 3."""
    assert mark_standard(1) == pytest.approx(0.288675, abs=5e-7)
    assert round(mark_standard(1), 2) == 0.29
    assert rectangular(1).standard == pytest.approx(0.57735, abs=5e-6)


def test_a_mark_is_scipys_rectangular_distribution():
    assert mark_standard(1.5875) == pytest.approx(stats.uniform(scale=1.5875).std(), rel=1e-12)


def test_a_rectangular_purity_as_in_eurachem_a1():
    """EURACHEM/CITAC QUAM, example A1: 0.9999 +- 0.0001, rectangular, u = 0.000058."""
    assert round(rectangular(0.0001).standard, 6) == 0.000058


def test_a_calibration_standard_as_in_eurachem_a1():
    """EURACHEM/CITAC QUAM, example A1: 1002.7 mg/L, u 0.9, U 1.8.

    It prints u(V) as 0.07 and goes on with that.
    """
    mass_mg, purity, volume_ml = 100.28, 0.9999, 100.0
    calibration, filling = triangular(0.1), Component(0.02)
    temperature = rectangular(volume_ml * 4 * 2.1e-4)

    of_volume = combined(calibration, filling, temperature)
    concentration = 1000 * mass_mg * purity / volume_ml
    of_all = combined(
        Component(concentration * 0.05 / mass_mg),
        Component(concentration * rectangular(0.0001).standard / purity),
        Component(concentration * round(of_volume.standard, 2) / volume_ml),
    )

    assert of_volume.standard == pytest.approx(0.0664730521840743, rel=1e-12)
    assert round(concentration, 1) == 1002.7
    assert of_all.standard == pytest.approx(0.8637, abs=5e-5)
    assert round(of_all.standard, 1) == 0.9
    assert COVERAGE * round(of_all.standard, 1) == 1.8


def test_an_end_gauge_as_in_h_1_of_the_gum():
    """JCGM 100:2008 H.1: 25, 9.7, 2.9, 16.6 nm; u 32 nm, v 16, t99 2.92, U99 93 nm.

    The degrees of freedom and the results are from memory.
    """
    length = combined(
        Component(25, 18), Component(9.7, 25.6), Component(2.9, 50), Component(16.6, 2)
    )
    times = stats.t.ppf(0.995, int(length.freedom))

    assert round(length.standard) == 32
    assert int(length.freedom) == 16
    assert round(times, 2) == 2.92
    assert round(times * round(length.standard)) == 93


def test_the_difference_of_two_end_gauges_as_in_h_1_3_2_of_the_gum():
    """JCGM 100:2008 H.1.3.2: 5.8, 3.9, 6.7 nm make 9.7 nm; v 25.6 from that 9.7 (from memory)."""
    difference = combined(Component(5.8, 24), Component(3.9, 5), Component(6.7, 8))

    assert round(difference.standard, 1) == 9.7
    assert difference.freedom * (9.7 / difference.standard) ** 4 == pytest.approx(25.6, abs=0.05)


def test_three_inputs_multiplied_as_in_g_4_1_of_the_gum():
    """JCGM 100:2008 G.4.1, example: 0.25, 0.57, 0.82 % of 10, 5, 15 readings: 1.03 %, v 19.0.

    From memory.
    """
    product = combined(Component(0.25, 9), Component(0.57, 4), Component(0.82, 14))

    assert round(product.standard, 2) == 1.03
    assert product.freedom == pytest.approx(19.0, abs=0.1)


def test_a_pooled_repeat_is_the_variance_within_of_scipys_one_way_analysis():
    """scipy's F of two groups is variance between over variance within (JCGM 100 4.2.4)."""
    straight, turned = [0.51, 0.72, 0.66], [-0.43, -0.31]
    between = 6 / 5 * (np.mean(straight) - np.mean(turned)) ** 2

    repeat = pooled_repeat([straight, turned], 0.01)

    assert between / repeat.standard**2 == pytest.approx(stats.f_oneway(straight, turned).statistic)
    assert repeat.freedom == 3


@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_a_bound_on_scatter_is_the_quantile_of_chi_square(count):
    """NIST/SEMATECH e-Handbook 1.3.6.7.4 tables the same; here scipy's."""
    assert SCATTER_BOUNDS[count] == pytest.approx(stats.chi2.ppf(0.99, count - 1), abs=5e-5)


def test_two_readings_of_a_tape_in_thirty_seconds():
    """Derived: u 0.012758 in, U (k = 2) 0.0255 in, 0.081 degrees on 18 in."""
    end = Component(mark_standard(1 / 32))
    difference = combined(end, end)

    assert difference.standard == pytest.approx(0.012758, abs=5e-7)
    assert difference.expanded == pytest.approx(0.0255, abs=5e-5)
    assert toe_total_deg(difference.expanded, 18) == pytest.approx(0.081, abs=5e-4)


def test_coverage_of_two_is_about_ninety_five_percent():
    """NIST/SEMATECH e-Handbook 2.5.7: U = k u, k = 2 for about 95 %."""
    assert COVERAGE == 2
    assert 2 * stats.norm.cdf(COVERAGE) - 1 == pytest.approx(0.95, abs=0.005)


def torque_standard(torque_nm):
    return combined(rectangular(0.04 * torque_nm), Component(mark_standard(1)))


def test_a_guard_band_narrows_what_is_accepted():
    """80 +- 8 by a tool of 4 % that reads to 1: accepted from 75.740 to 84.260 (derived)."""
    standard = torque_standard(80)

    assert standard.standard == pytest.approx(1.86994, abs=5e-6)
    assert standard.expanded == pytest.approx(3.73988, abs=1e-5)
    assert verdict(75.7400, 72, 88, standard.expanded) == INSIDE
    assert verdict(75.7398, 72, 88, standard.expanded) == CANT_TELL
    assert verdict(84.2598, 72, 88, standard.expanded) == INSIDE
    assert verdict(84.2602, 72, 88, standard.expanded) == CANT_TELL


@pytest.mark.parametrize(("value", "probability"), [(85, 0.9457), (84, 0.9838), (88, 0.5)])
def test_a_probability_inside_of_the_same_band(value, probability):
    """Derived: normal about the value, u 1.86994 throughout."""
    ours = probability_inside(value, 72, 88, torque_standard(80).standard)

    assert ours == pytest.approx(probability, abs=1e-4)


def test_a_conformance_probability_as_in_jcgm_106():
    """JCGM 106:2012 7.x: 0.9192 and 0.9890 (the figures from memory; arithmetic is Phi)."""
    below = probability_inside(5.40, -inf, 5.47, 0.05)
    above = probability_inside(509.7, 490, inf, 8.6)

    assert below == pytest.approx(0.9192, abs=5e-5)
    assert above == pytest.approx(0.9890, abs=5e-5)


@pytest.mark.parametrize("standard", [0.01, 0.14, 3.0])
def test_a_probability_inside_is_scipys_normal_distribution(standard):
    values = np.linspace(-2, 2, 81)
    theirs = stats.norm.cdf(0.5, values, standard) - stats.norm.cdf(-0.5, values, standard)

    ours = [probability_inside(value, -0.5, 0.5, standard) for value in values]

    assert ours == pytest.approx(theirs, abs=1e-12)


def consumer_risk(bound_um):
    """Return how probably a bearing beyond 2 um is measured within ``bound_um``."""
    prior = stats.gamma(4, scale=1 / 4)
    wrongly = integrate.quad(
        lambda runout: prior.pdf(runout) * probability_inside(runout, -inf, bound_um, 0.25),
        2,
        8,
        epsabs=1e-12,
    )
    return wrongly[0]


def producer_risk(bound_um):
    prior = stats.gamma(4, scale=1 / 4)
    wrongly = integrate.quad(
        lambda runout: prior.pdf(runout) * probability_inside(runout, bound_um, inf, 0.25), 0, 2
    )
    return wrongly[0]


def test_bearings_as_in_jcgm_106():
    """JCGM 106:2012 9.5.4, as a national laboratory's worked example quotes it.

    Run-out gamma (4, rate 4), limit 2 um, u 0.25: 4.24 % do not conform, consumer's risk
    0.8 %, 0.1 % with the bound at 1.672. The producer's risks are derived.
    """
    assert stats.gamma(4, scale=1 / 4).sf(2) == pytest.approx(0.0423801, rel=1e-5)
    assert consumer_risk(2) == pytest.approx(0.0080191, rel=1e-4)
    bound_um = optimize.brentq(lambda bound_um: consumer_risk(bound_um) - 0.001, 1.5, 2)
    assert bound_um == pytest.approx(1.672, abs=5e-4)
    assert 2 - bound_um == pytest.approx(0.32817, abs=5e-6)
    assert producer_risk(2) == pytest.approx(0.01744, abs=5e-6)
    assert producer_risk(bound_um) == pytest.approx(0.0755, abs=5e-5)


def test_a_guard_band_of_the_whole_expanded_uncertainty_as_in_ilac_g8():
    """ILAC-G8:09/2019: simple acceptance risks up to 50 %, a band of U under 2.5 %."""
    at_limit, at_guard = (probability_inside(10 - COVERAGE * band, -inf, 10, 1) for band in (0, 1))

    assert at_limit == 0.5
    assert at_guard == pytest.approx(0.97725, abs=5e-6)


def test_a_guard_band_of_two_is_stricter_than_iso_14253_1():
    """ISO 14253-1:2017: 95 % conformance, one-sided 1.65 u; the 1998 edition U (from memory)."""
    assert probability_inside(10 - 1.65, -inf, 10, 1) == pytest.approx(0.95, abs=1e-3)
    assert verdict(10 - 1.65, 0, 10, COVERAGE * 1) == CANT_TELL
    assert verdict(10 - 2, 0, 10, COVERAGE * 1) == INSIDE


@pytest.mark.parametrize(("mark_mm", "count"), [(INCH_MM / 16, 1), (INCH_MM / 32, 3), (1.0, 5)])
def test_toe_is_what_the_library_uncertainties_carries_through(mark_mm, count):
    front, rear = (ufloat(length, mark_standard(mark_mm)) for length in (911.2, 916.0))
    repeats = [ufloat(0, TOE_REPEAT_MM) for _ in range(count)]

    theirs = rear - front + sum(repeats) / count

    assert toe_standard(mark_mm, [4.8] * count).standard == pytest.approx(theirs.s, rel=1e-12)


@pytest.mark.parametrize("bottom_mm", [8.0, 3.0, 30.0])
def test_camber_is_never_surer_than_the_library_uncertainties_says(bottom_mm):
    mark = mark_standard(INCH_MM / 16)
    top, bottom = ufloat(8.0, mark), ufloat(bottom_mm, mark)
    repeat = ufloat(0, CAMBER_REPEAT_DEG)

    theirs = umath.degrees(umath.atan2(bottom - top, 280.0)) + repeat
    ours = square_standard(INCH_MM / 16, 280.0, [theirs.n]).standard

    # taken at an upright wheel: there equal, at 4.5 degrees under 1 % wide
    assert theirs.s <= ours * (1 + 1e-12)
    assert ours == pytest.approx(theirs.s, rel=1e-12 if bottom_mm == 8.0 else 0.01)


def test_a_gauge_is_what_the_library_uncertainties_carries_through():
    theirs = ufloat(0.2, mark_standard(0.1)) + ufloat(0, CAMBER_REPEAT_DEG)

    assert gauge_standard(0.1, [0.2]).standard == pytest.approx(theirs.s, rel=1e-12)


@pytest.mark.parametrize("counts", [(1, 1), (2, 1), (3, 3), (1, 2)])
def test_a_mean_of_both_halves_of_a_turn_is_what_uncertainties_carries_through(counts):
    groups = [[ufloat(0, CAMBER_REPEAT_DEG) for _ in range(count)] for count in counts]

    theirs = mean_of_means([sum(group) / len(group) for group in groups])
    ours = CAMBER_REPEAT_DEG / sqrt(count_of_groups(*groups))

    assert ours == pytest.approx(theirs.s, rel=1e-12)


def mean_of_means(means):
    return sum(means) / len(means)


def test_a_side_to_side_is_what_uncertainties_carries_through():
    left = square_standard(INCH_MM / 32, 280.0, [0.4, 0.1, 0.6])
    right = square_standard(INCH_MM / 16, 300.0, [0.2])

    theirs = ufloat(0.37, left.standard) - ufloat(0.2, right.standard)

    assert combined(left, right).standard == pytest.approx(theirs.s, rel=1e-12)
    assert combined(left, right).expanded == pytest.approx(hypot(left.expanded, right.expanded))


TRIALS = 200_000
SHEETS = [(INCH_MM / 16, 1), (INCH_MM / 32, 3), (1.0, 2)]


def drawn(lot, mark_mm):
    """Return what lies behind a reading to the nearest mark, less the reading."""
    return lot.uniform(-mark_mm / 2, mark_mm / 2, TRIALS)


@pytest.mark.parametrize(("mark_mm", "count"), SHEETS)
def test_toe_spreads_as_trials_by_lot_do(mark_mm, count):
    lot = np.random.default_rng(1906)
    repeat_mm = lot.normal(0, TOE_REPEAT_MM, (count, TRIALS)).mean(axis=0)

    toes_mm = 4.8 + drawn(lot, mark_mm) - drawn(lot, mark_mm) + repeat_mm

    ours = toe_standard(mark_mm, [4.8] * count).standard
    assert ours == pytest.approx(toes_mm.std(), rel=0.01)


@pytest.mark.parametrize(("mark_mm", "count"), SHEETS)
@pytest.mark.parametrize("bottom_mm", [8.0, 12.0])
def test_camber_by_a_square_spreads_as_trials_by_lot_do(mark_mm, count, bottom_mm):
    lot = np.random.default_rng(1906)
    repeat_deg = lot.normal(0, CAMBER_REPEAT_DEG, (count, TRIALS)).mean(axis=0)
    top, bottom = 8.0 + drawn(lot, mark_mm), bottom_mm + drawn(lot, mark_mm)

    cambers_deg = np.degrees(np.arctan((bottom - top) / 280.0)) + repeat_deg

    ours = square_standard(mark_mm, 280.0, [cambers_deg.mean()] * count).standard
    assert ours == pytest.approx(cambers_deg.std(), rel=0.01)


def test_half_a_turn_cancels_a_bent_rim_in_trials_by_lot():
    lot = np.random.default_rng(1906)
    straight = (0.6 + lot.normal(0, CAMBER_REPEAT_DEG, (20_000, 2))).tolist()
    turned = (-0.4 + lot.normal(0, CAMBER_REPEAT_DEG, (20_000, 1))).tolist()

    means = [mean_of_groups(*groups) for groups in zip(straight, turned, strict=True)]
    count = count_of_groups(straight[0], turned[0])

    assert np.mean(means) == pytest.approx(0.1, abs=0.002)
    assert CAMBER_REPEAT_DEG / sqrt(count) == pytest.approx(np.std(means), rel=0.02)
