"""Figures on a page stand with a true minus."""

import pytest

from alignment.signs import signed_deg, with_minus


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            "camber left -0.90°, toe -7.4 mm (-0.292 in)",
            "camber left −0.90°, toe −7.4 mm (−0.292 in)",
        ),
        ("about -5/16 in", "about −5/16 in"),
        ("toe-out: side-to-side, HX-4, 2026-10-28", "toe-out: side-to-side, HX-4, 2026-10-28"),
        ("", ""),
    ],
)
def test_with_minus_changes_what_stands_before_a_figure_alone(words, said):
    assert with_minus(words) == said


@pytest.mark.parametrize(
    ("deg", "said"), [(-0.07, "−0.07°"), (0.3, "+0.30°"), (0, "+0.00°"), (-0.001, "+0.00°")]
)
def test_signed_deg_always_has_its_sign(deg, said):
    assert signed_deg(deg) == said
