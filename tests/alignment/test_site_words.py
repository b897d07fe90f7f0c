"""Figures as a site's pages say them: its own unit first, on inch sites with the fraction."""

import pytest

from alignment.site_words import Wording

INCH_MM = 25.4
IN_32NDS, IN_16THS = Wording("inch", INCH_MM / 32), Wording("inch", INCH_MM / 16)
METRIC = Wording("metric", 1.0)


@pytest.mark.parametrize(
    ("wording", "inches", "said"),
    [
        (IN_32NDS, 1 / 2, "+0.500 in (1/2 in, +12.7 mm)"),
        (IN_32NDS, 3 / 16, "+0.188 in (3/16 in, +4.8 mm)"),
        (IN_32NDS, 0.1969, "+0.197 in (about 3/16 in, +5.0 mm)"),
        (IN_16THS, -0.1, "−0.100 in (about −1/8 in, −2.5 mm)"),
        (IN_16THS, 1.19, "+1.190 in (about 1 3/16 in, +30.2 mm)"),
        (IN_16THS, 0.01, "+0.010 in (+0.3 mm)"),
        (Wording("inch", 1.0), 3 / 16, "+0.188 in (+4.8 mm)"),
        (METRIC, 3 / 16, "+4.8 mm (+0.188 in)"),
    ],
)
def test_toe_is_said_in_the_unit_of_the_site_first(wording, inches, said):
    assert wording.figure("toe", inches * INCH_MM) == said


def test_a_change_of_toe_has_no_fraction():
    assert IN_32NDS.change("toe", 0.5 * INCH_MM) == "+0.500 in (+12.7 mm)"
    assert METRIC.change("toe", 0.5 * INCH_MM) == "+12.7 mm (+0.500 in)"


def test_camber_is_said_in_degrees_everywhere():
    for wording in (IN_32NDS, METRIC):
        assert wording.figure("camber left", -1.492) == "−1.49°"
        assert wording.change("side to side", 0.5) == "+0.50°"
        assert wording.spread("camber left", 0.284) == "±0.28°"


def test_spread_scale_and_diameter_follow_the_site():
    said = [
        (one.spread("toe", 1.2), one.alone("toe", 4.7625), one.diameter(558.8))
        for one in (IN_32NDS, METRIC)
    ]

    assert said == [
        ("±0.047 in (1.2 mm)", "+0.188 in", "22 in (559 mm)"),
        ("±1.2 mm (0.047 in)", "+4.8 mm", "559 mm (22 in)"),
    ]


def test_a_scale_writes_nought_without_a_sign():
    assert [one.scale("toe", 0) for one in (IN_32NDS, METRIC)] == ["0 in", "0 mm"]
    assert [IN_32NDS.scale("camber left", deg) for deg in (0, -0.5, 0.5)] == [
        "0°",
        "−0.5°",
        "+0.5°",
    ]
