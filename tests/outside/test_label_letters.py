"""Letter heights of labels and tags against the sizes that the standards are said to give.

ANSI Z535.4-2011 Annex B and ANSI Z535.2 by label makers' pages, the standards not read;
29 CFR 1910.145(f)(4) by the Federal Register of 1986-09-19.
"""

from decimal import Decimal

import pytest

from lifts.lettering import (
    INSIDE,
    OUTSIDE,
    TAG_READ_FROM_M,
    needed_type_pt,
    signal_word_needed_mm,
    tag_legibility,
)

D = Decimal
FOOT_MM = D("304.8")


@pytest.mark.parametrize(("feet", "size_pt"), [(5, 16), (4, 14), (3, 12), (2, 10)])
def test_a_type_size_for_a_safe_viewing_distance(feet, size_pt):
    """ANSI Z535.4-2011 Annex B, whose condition was cut off in the page read."""
    assert needed_type_pt(feet * FOOT_MM) == size_pt


def test_the_sizes_are_no_straight_line_through_zero():
    """16 points at 5 ft would be 6.4 at 2 ft; the annex has 10."""
    assert needed_type_pt(2 * FOOT_MM) > D(16) / 5 * 2


def test_beyond_the_annex_nothing_is_said():
    assert needed_type_pt(5 * FOOT_MM + 1) is None


def test_a_signal_word_is_one_and_a_half_times_a_capital_h():
    """ANSI Z535.2, by a page on safe viewing distances."""
    assert signal_word_needed_mm(D(4)) == 6


def test_a_tag_reads_at_five_feet():
    """29 CFR 1910.145(f)(4): at least 5 feet (1.52 m), the metres a rounding."""
    assert round(5 * FOOT_MM / 1000, 2) == TAG_READ_FROM_M
    assert tag_legibility(5 * FOOT_MM / 1000) == INSIDE
    assert tag_legibility(D("4.9") * FOOT_MM / 1000) == OUTSIDE
