"""Reading, converting and printing quantities."""

from decimal import Decimal, getcontext, localcontext
from fractions import Fraction

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from shared import units
from shared.units import (
    SI_UNITS,
    SPELLINGS,
    UNITS_OF,
    Unreadable,
    convert,
    printed,
    read_number,
    read_quantity,
    shown,
    with_unit,
)

VALUES = st.decimals(min_value=-99999, max_value=99999, places=4)
QUANTITY_AND_UNIT = st.sampled_from([(q, u) for q, listed in SPELLINGS.items() for u in listed])


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("0", "0"),
        ("22", "22"),
        ("1850.0", "1850.0"),
        ("1,850.0", "1850.0"),
        ("1 850.0", "1850.0"),
        ("1\u202f850,5", "1850.5"),
        ("1.850,0", "1850.0"),
        ("1850,5", "1850.5"),
        ("1,850", "1850"),
        ("1850,500", "1850.500"),
        ("0,125", "0.125"),
        (",125", "0.125"),
        ("1.850", "1.850"),
        ("1,850,000", "1850000"),
        ("1.850.000", "1850000"),
        (".125", "0.125"),
        ("-0.5", "-0.5"),
        ("−0.5", "-0.5"),
        ("+3", "3"),
        (" 7 ", "7"),
        ("1/8", "0.125"),
        ("9/8", "1.125"),
        ("35 7/8", "35.875"),
        ("35-7/8", "35.875"),
        ("1 1/8", "1.125"),
        ("1-1/8", "1.125"),
        ("1⅛", "1.125"),
        ("1 ⅛", "1.125"),
        ("-1⅛", "-1.125"),
        ("½", "0.5"),
        ("1⁄8", "0.125"),
        ("1 1⁄8", "1.125"),
        ("1 850 7/8", "1850.875"),
    ],
)
def test_read_number_reads_what_people_write(text, number):
    assert str(read_number(text)) == number


@pytest.mark.parametrize(
    "text",
    [
        *("", " ", "35 9/8", "1.5 1/8", "- 1", "1,850 000", "1 85", "1\n2", "1 in", "1" * 25),
        *("1/0", "1//8", "/8", "1/", "3/4/2026", "nan", "inf", "-inf", "1e5", "1E5", "9**9**9"),
        *("0x10", "1_000", "٣", "²", "--1", "+-1", "-", ".", ",", "12.", "1,2.3", "1,850,0"),
        "1,85,000",
    ],
)
def test_read_number_refuses_what_is_no_number_and_names_it(text):
    with pytest.raises(ValueError, match="is not a number; write it like") as refused:
        read_number(text)

    assert text in str(refused.value)


def test_a_refusal_carries_its_parts_for_translation():
    with pytest.raises(Unreadable) as refused:
        read_number("1/0")

    assert refused.value.plain % refused.value.holes == str(refused.value)
    assert refused.value.holes == {"text": "1/0"}


def test_the_longest_number_is_24_characters():
    assert read_number("1" * 24) == Decimal("1" * 24)


@given(VALUES)
@example(Decimal("-0.5000"))
def test_read_number_reads_back_every_way_of_writing_a_decimal(value):
    point = f"{value:,f}"
    comma = point.translate(str.maketrans(",.", ".,"))

    assert [read_number(text) for text in (f"{value:f}", point, comma)] == [value] * 3


@given(st.text(max_size=30))
@example("1⅛/2")
def test_read_number_never_fails_but_with_a_value_error(text):
    try:
        number = read_number(text)
    except ValueError:
        return
    assert number.is_finite()


@given(whole=st.integers(0, 9999), eighths=st.integers(1, 7), sign=st.sampled_from(["", "-"]))
def test_read_number_adds_the_fraction_away_from_zero(whole, eighths, sign):
    size = Decimal(whole) + Decimal(eighths) / 8

    assert read_number(f"{sign}{whole} {eighths}/8") == (-size if sign else size)


@pytest.mark.parametrize(
    ("quantity", "unit", "spellings"),
    [
        ("length", "in", ["in", "in.", "IN", "inch", "inches", '"', "″"]),
        ("length", "ft", ["ft", "'", "feet"]),
        ("length", "mm", ["mm", "MM"]),
        ("length", "cm", ["cm"]),
        ("length", "m", ["m", "metres"]),
        ("distance", "mi", ["mi", "mi.", "miles", "mile"]),
        ("distance", "km", ["km", "KM"]),
        ("distance", "m", ["m"]),
        ("torque", "N.m", ["N.m", "N·m", "Nm", "nm", "N m", "N*m", "newton metre", "N⋅m"]),
        (
            "torque",
            "lbf.ft",
            ["lbf.ft", "ft-lb", "ft lb", "ft·lbf", "lb-ft", "lbf·ft", "ft.lbs", "ft*lb", "ftlb"],
        ),
        ("torque", "lbf.in", ["lbf.in", "in-lb", "in lb", "in·lbf", "lb in"]),
        ("torque", "kgf.m", ["kgf.m", "kgf·m", "kgfm"]),
        ("mass", "lb", ["lb", "lbs", "lb.", "pounds"]),
        ("mass", "kg", ["kg"]),
        ("pressure", "psi", ["psi", "PSI"]),
        ("pressure", "kPa", ["kPa", "kpa"]),
        ("pressure", "bar", ["bar"]),
        ("speed", "km/h", ["km/h", "kmh"]),
        ("speed", "mph", ["mph", "MPH"]),
        ("hours", "h", ["h", "hr", "hrs", "hours"]),
        ("angle", "deg", ["°", "deg", "degrees"]),
    ],
)
def test_read_quantity_knows_the_spellings_of_a_unit(quantity, unit, spellings):
    default = next(other for other in reversed(SPELLINGS[quantity]))

    for spelling in spellings:
        for text in (f"22 {spelling}", f"22{spelling}"):
            assert read_quantity(text, quantity, default).unit == unit, text


def test_read_quantity_keeps_what_was_typed_beside_the_value():
    measure = read_quantity("35 7/8 in", "length", "mm")

    assert measure == units.Measure("35 7/8 in", Decimal("35.875"), "in", Decimal("911.225"))


def test_read_quantity_takes_the_default_unit_where_none_is_typed():
    assert read_quantity("1 1/8", "length", "in").si == Decimal("28.575")
    assert read_quantity("1 1/8", "length", "mm").si == Decimal("1.125")
    assert read_quantity("1,850.0", "distance", "mi").si == Decimal("2977286.4")


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("22 ft", "torque"),
        ("22 lb", "torque"),
        ("22 kg m", "torque"),
        ("22 J", "torque"),
        ("22 m/N", "torque"),
        ("22 Nm", "length"),
        ("22 ft-lb", "mass"),
        *[(text, "length") for text in ("6 ft 12 in", "1.5' 2", "6' -2", "6''2", "6' 2 mm")],
        *[("6' 2 9/8", "length"), ("6 ft 2 in", "distance"), ("6 m 2 in", "length")],
        ("10 pm", "length"),
        ("1e400 m", "distance"),
        ("9**9**9", "length"),
        ("nan m", "distance"),
        ("mm", "length"),
        ("", "length"),
        ("5 __import__('os')", "length"),
        ("0°60'", "angle"),
        ("1 in" + " " * 40, "length"),
    ],
)
def test_read_quantity_refuses_what_does_not_measure_it(text, quantity):
    with pytest.raises(Unreadable) as refused:
        read_quantity(text, quantity, SI_UNITS[quantity])

    assert text[:40] in str(refused.value)


def test_read_quantity_names_the_units_that_would_be_accepted():
    with pytest.raises(ValueError, match="“22 lb”: the unit “lb” is not one of N·m, lbf·ft"):
        read_quantity("22 lb", "torque", "N.m")


def test_read_quantity_refuses_a_default_of_another_quantity_and_an_unknown_quantity():
    with pytest.raises(ValueError, match="“mm” is not one of"):
        read_quantity("22 N.m", "torque", "mm")
    with pytest.raises(ValueError, match=r"quantity must be one of length, .* not 'energy'"):
        read_quantity("22 J", "energy", "J")


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        *[(text, "174") for text in ("14'6\"", "14' 6\"", "14 ft 6 in", "14ft6in", "14'-6\"")],
        *[(text, "174") for text in ("14’ 6”", "14′6″", "14' 6''", "14 Feet 6 Inches", "14'6")],
        *[(text, "174.5") for text in ("14' 6 1/2\"", "14 ft. 6-1/2 in.", "14'6½\"", "14' 6.5\"")],
        *[
            ("0' 7/8\"", "0.875"),
            ("-1' 6\"", "-18"),
            ("5 ft 0 in", "60"),
            ("3' 11 63/64", "47.984375"),
        ],
    ],
)
def test_a_length_in_feet_and_inches_is_read_whole(text, inches):
    measure = read_quantity(text, "length", "mm")

    assert (measure.typed, measure.value, measure.unit) == (text, Decimal(inches), "in")
    assert measure.si == Decimal(inches) * Decimal("25.4")


def test_an_unknown_unit_of_length_names_what_is_read():
    with pytest.raises(ValueError) as refused:
        read_quantity("14 yd", "length", "in")

    said = "the unit “yd” is not one of mm, cm, m, in, ft; feet with inches are read like 14' 6\""
    assert said in str(refused.value)


@pytest.mark.parametrize(
    ("text", "deg"),
    [
        ("-0°36'", "-0.6"),
        ("−0°36′", "-0.6"),
        ("0°12′", "0.2"),
        ("0° 12.6'", "0.21"),
        ("-1°30'", "-1.5"),
        ("-0.6°", "-0.6"),
        ("-36'", "-0.6"),
        ("-0.6", "-0.6"),
    ],
)
def test_an_angle_in_minutes_keeps_its_sign(text, deg):
    assert read_quantity(text, "angle", "deg").si == Decimal(deg)


@given(VALUES, QUANTITY_AND_UNIT)
@example(Decimal("88507.4577"), ("torque", "lbf.ft"))
def test_convert_there_and_back_is_the_same(value, quantity_and_unit):
    quantity, unit = quantity_and_unit
    si = SI_UNITS[quantity]

    back = convert(convert(value, unit, si), si, unit)

    endless = unit in ("psi", "arcmin")  # no decimal holds their factor
    assert (round(back, 15) if endless else back) == value


@given(QUANTITY_AND_UNIT, QUANTITY_AND_UNIT)
def test_convert_never_mixes_quantities(one, other):
    together = any({one[1], other[1]} <= set(listed) for listed in SPELLINGS.values())

    if together:
        assert convert(Decimal(1), one[1], other[1]) > 0
    else:
        with pytest.raises(ValueError, match="no quantity is measured in both"):
            convert(Decimal(1), one[1], other[1])


@pytest.mark.parametrize("value", ["nan", "inf", "-inf"])
def test_convert_refuses_what_is_not_finite(value):
    with pytest.raises(ValueError, match="finite"):
        convert(Decimal(value), "mm", "in")


def test_convert_does_not_depend_on_the_callers_precision():
    units._factor.cache_clear()
    with localcontext() as rough:
        rough.prec = 5
        converted = convert(Decimal(1), "lbf.ft", "N.m")

    assert converted == Decimal("1.3558179483314004")
    assert getcontext().prec == 28


def test_a_typed_number_of_24_characters_converts_exactly():
    measure = read_quantity("12345678901.123456789012 lbf.ft", "torque", "N.m")

    exact = Fraction(measure.value) * Fraction("1.3558179483314004")
    assert Fraction(measure.si) == exact
    assert convert(measure.si, "N.m", "lbf.ft") == measure.value


def test_convert_gives_plain_figures():
    assert str(convert(Decimal(1), "bar", "kPa")) == "100"


def test_there_is_one_registry():
    assert pint.get_application_registry().get() is units.REGISTRY


def test_every_unit_of_a_system_is_a_unit_of_its_quantity():
    for system in UNITS_OF.values():
        assert system.keys() == SI_UNITS.keys() == SPELLINGS.keys()
        for quantity, unit in system.items():
            assert unit in SPELLINGS[quantity]


@pytest.mark.parametrize(
    ("si", "quantity", "system", "figure"),
    [
        ("40233.6", "distance", "inch", "25.0 mi"),
        ("40233.6", "distance", "metric", "40.2 km"),
        ("54.232717933", "torque", "metric", "54.2 N·m"),
        ("54.232717933", "torque", "inch", "40.0 lbf·ft"),
        ("2977286.4", "distance", "inch", "1,850.0 mi"),
        ("3.175", "length", "inch", "0.125 in"),
        ("3.175", "length", "metric", "3.2 mm"),
        ("412.04", "hours", "inch", "412.0 h"),
        ("0.05", "hours", "metric", "0.1 h"),
        ("150", "pressure", "metric", "150 kPa"),
        ("-0.001", "angle", "inch", "0.00°"),
        ("-0.98", "angle", "metric", "-0.98°"),
    ],
)
def test_shown_prints_a_value_for_the_sites_system(si, quantity, system, figure):
    assert shown(Decimal(si), quantity, system) == figure


def test_shown_takes_the_places_asked_for():
    assert shown(Decimal("3.175"), "length", "metric", 3) == "3.175 mm"


@given(
    st.decimals(min_value=-9999, max_value=9999, places=1),
    st.sampled_from(list(SI_UNITS)),
    st.sampled_from(list(UNITS_OF)),
)
def test_what_is_shown_reads_back(value, quantity, system):
    unit = UNITS_OF[system][quantity]
    figure = shown(convert(value, unit, SI_UNITS[quantity]), quantity, system, 1)

    assert read_quantity(figure, quantity, SI_UNITS[quantity]).value == value


def test_printed_never_shows_a_dot_for_a_product():
    assert [printed(unit) for unit in SPELLINGS["torque"]] == [
        "N·m",
        "lbf·ft",
        "lbf·in",
        "kgf·m",
        "kgf·cm",
    ]


@pytest.mark.parametrize(
    ("typed", "quantity", "unit", "said"),
    [
        ("40", "length", "ft", "40 ft"),
        ("35 7/8", "length", "in", "35 7/8 in"),
        ("1,5", "length", "in", "1,5 in"),
        ("14'", "length", "in", "14'"),
        ("20", "pressure", "psi", "20 psi"),
        ("1.4", "pressure", "bar", "1.4 bar"),
        ("20 psi", "pressure", "bar", "20 psi"),
        ("80", "torque", "N.m", "80 N·m"),
        ("0", "pressure", "psi", "0"),
    ],
)
def test_a_quantity_is_said_with_the_unit_it_was_read_in(typed, quantity, unit, said):
    kept = read_quantity(typed, quantity, unit).si.quantize(Decimal("0.001"))

    assert with_unit(typed, quantity, kept) == said


def test_what_was_not_read_is_said_as_typed():
    assert [with_unit("", "length", None), with_unit("8", "length", None)] == ["", "8"]
