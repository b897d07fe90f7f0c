"""Tyre codes, and what another diameter does, against published rules and worked figures.

The flotation and metric codes are those of tyre makers' size explanations; the standards
(TRA, ISO 4223) were not read. The figures are exact arithmetic on those rules.
"""

from decimal import Decimal
from math import pi

import pytest

from fleet.tyre_codes import disagrees, read_tyre_code
from lifts.speed import predicted_kmh
from lifts.stability import tyre_rise_mm

D = Decimal
IN = D("25.4")


@pytest.mark.parametrize(("text", "inches"), [("18x8.5-8", 18), ("20x10-10", 20)])
def test_a_flotation_code_names_diameter_and_a_side_wall_of_five_inches(text, inches):
    code = read_tyre_code(text)

    assert code.diameter_mm == inches * IN
    assert (code.diameter_mm - code.rim_mm) / 2 == 5 * IN


# the metric rule is from memory; 25.4 rim + 2 width ratio / 100
@pytest.mark.parametrize(
    ("text", "mm", "inches"),
    [
        ("205/50-10", "459.0", "18.0709"),
        ("205/65-10", "520.5", "20.4921"),
        ("205/30-14", "478.6", "18.8425"),
        ("215/60-8", "461.2", "18.1575"),
        ("215/35-14", "506.1", "19.9252"),
        ("215/40-12", "476.8", "18.7717"),
        ("225/55-12", "552.3", "21.7441"),
    ],
)
def test_a_metric_code_computes(text, mm, inches):
    code = read_tyre_code(text)

    assert code.diameter_mm == D(mm)
    assert round(code.diameter_mm / IN, 4) == D(inches)


@pytest.mark.parametrize("text", ["4.80-8", "4.80/4.00-8"])
def test_a_legacy_code_names_no_diameter(text):
    """Its first number is the section's width: a tyre maker's page on sizes."""
    assert read_tyre_code(text).diameter_mm is None


def test_nominal_18_inches_and_computed_18_07_do_not_disagree():
    """A nominal and a computed diameter agree to 2 or 3 % at best."""
    nominal, computed = read_tyre_code("18x8.5-8"), read_tyre_code("205/50-10")

    assert nominal.diameter_mm != computed.diameter_mm
    assert not disagrees(nominal, computed.diameter_mm)
    assert not disagrees(computed, nominal.diameter_mm)


@pytest.mark.parametrize(("to_in", "ratio"), [(20, "1.1111"), (22, "1.2222"), (23, "1.2778")])
def test_speed_grows_as_the_diameter(to_in, ratio):
    assert round(predicted_kmh(D(1), 18 * IN, to_in * IN), 4) == D(ratio)


# common practice, no source: v D'/D
@pytest.mark.parametrize(
    ("mph", "from_in", "to_in", "new_mph", "places"),
    [
        ("15", "18", "22", "18.333", 3),
        ("19", "18", "22", "23.222", 3),
        ("13.5", "18", "22", "16.5", 1),
        ("16", "18", "20.5", "18.2", 1),
        ("18", "18", "22", "22.0", 1),
        ("20.8", "18", "23", "26.6", 1),
        ("17", "18", "22", "20.8", 1),
    ],
)
def test_a_predicted_speed(mph, from_in, to_in, new_mph, places):
    predicted = predicted_kmh(D(mph), D(from_in) * IN, D(to_in) * IN)

    assert round(predicted, places) == D(new_mph)


@pytest.mark.parametrize(
    ("mph", "new_mph", "to_in"),
    [(15, 20, "24.0"), (19, 20, "18.947"), (19, 25, "23.684")],
)
def test_the_diameter_at_which_a_class_is_left(mph, new_mph, to_in):
    """The limits of ANSI/OPEI Z130.1, ANSI Z135 and 49 CFR 571.3, from 18 in tyres."""
    needed_in = predicted_kmh(D(18), D(mph), D(new_mph))

    assert round(needed_in, 3) == D(to_in)
    assert abs(predicted_kmh(D(mph), D(18), needed_in) / new_mph - 1) < D("1e-9")


def test_turns_in_a_mile_fall_as_speed_grows():
    """63360 / (pi D) without slip: 1120.45 on 18 in, 916.73 on 22 in."""
    turns = {inches: 63360 / (pi * inches) for inches in (18, 22)}

    assert [round(each, 2) for each in turns.values()] == [1120.45, 916.73]
    predicted = predicted_kmh(D("916.73"), 18 * IN, 22 * IN)
    assert float(predicted) == pytest.approx(1120.45, abs=0.01)


def test_a_tyre_raises_the_cart_by_half_its_growth():
    assert tyre_rise_mm(18 * 25.4, 22 * 25.4) == pytest.approx(2.0 * 25.4)
