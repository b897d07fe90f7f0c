"""Uncertainties against the GUM's constants, printed examples, scipy, and trials by lot.

Trials by lot follow JCGM 101:2008: draw what a reading hides, look at the spread.
"""

from math import sqrt

import numpy as np
import pytest
from scipy import stats

from alignment.geometry import toe_total_deg
from alignment.uncertainty import (
    CAMBER_REPEAT_DEG,
    COVERAGE,
    TOE_REPEAT_MM,
    mark_standard,
    square_standard_deg,
    toe_standard_mm,
)

INCH_MM = 25.4


def test_a_mark_has_the_constant_of_the_gum():
    """JCGM 100:2008 F.2.2.1 prints 0.29 of the step; 4.3.7: half-width over sqrt 3."""
    assert mark_standard(1) == pytest.approx(0.288675, abs=5e-7)
    assert round(mark_standard(1), 2) == 0.29


def test_a_mark_is_scipys_rectangular_distribution():
    assert mark_standard(1.5875) == pytest.approx(stats.uniform(scale=1.5875).std(), rel=1e-12)


def test_a_rectangular_purity_as_in_eurachem_a1():
    """EURACHEM/CITAC QUAM, example A1: 0.9999 +- 0.0001, rectangular, u = 0.000058."""
    assert round(mark_standard(2 * 0.0001), 6) == 0.000058


def test_two_readings_of_a_tape_in_thirty_seconds():
    """Derived: u 0.012758 in, U (k = 2) 0.0255 in, 0.081 degrees on 18 in."""
    standard_in = sqrt(2) * mark_standard(1 / 32)
    expanded_in = COVERAGE * standard_in

    assert standard_in == pytest.approx(0.012758, abs=5e-7)
    assert expanded_in == pytest.approx(0.0255, abs=5e-5)
    assert toe_total_deg(expanded_in, 18) == pytest.approx(0.081, abs=5e-4)


def test_coverage_of_two_is_about_ninety_five_percent():
    """NIST/SEMATECH e-Handbook 2.5.7: U = k u, k = 2 for about 95 %."""
    assert COVERAGE == 2
    assert 2 * stats.norm.cdf(COVERAGE) - 1 == pytest.approx(0.95, abs=0.005)


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

    assert toe_standard_mm(mark_mm, [4.8] * count) == pytest.approx(toes_mm.std(), rel=0.01)


@pytest.mark.parametrize(("mark_mm", "count"), SHEETS)
@pytest.mark.parametrize("bottom_mm", [8.0, 12.0])
def test_camber_by_a_square_spreads_as_trials_by_lot_do(mark_mm, count, bottom_mm):
    lot = np.random.default_rng(1906)
    repeat_deg = lot.normal(0, CAMBER_REPEAT_DEG, (count, TRIALS)).mean(axis=0)
    top, bottom = 8.0 + drawn(lot, mark_mm), bottom_mm + drawn(lot, mark_mm)

    cambers_deg = np.degrees(np.arctan((bottom - top) / 280.0)) + repeat_deg

    ours = square_standard_deg(mark_mm, 280.0, [cambers_deg.mean()] * count)
    assert ours == pytest.approx(cambers_deg.std(), rel=0.01)
