"""Conversions against NIST SP 811 (2008) App. B, whose factors follow from exact definitions.

1 in = 0.0254 m, 1 lb = 0.45359237 kg, g = 9.80665 m/s2, 1 mi = 1609.344 m.
"""

from decimal import Decimal
from fractions import Fraction

import pytest

from shared.units import REGISTRY, convert, read_quantity

INCH_M = Fraction("0.0254")
POUND_FORCE_N = Fraction("0.45359237") * Fraction("9.80665")


@pytest.mark.parametrize(
    ("from_unit", "to_unit", "exact"),
    [
        ("lbf.ft", "N.m", POUND_FORCE_N * 12 * INCH_M),
        ("lbf.in", "N.m", POUND_FORCE_N * INCH_M),
        ("lbf.ft", "lbf.in", Fraction(12)),
        ("kgf.m", "N.m", Fraction("9.80665")),
        ("kgf.cm", "N.m", Fraction("0.0980665")),
        ("mph", "km/h", Fraction("1.609344")),
        ("mi", "m", Fraction("1609.344")),
        ("mi", "km", Fraction("1.609344")),
        ("in", "mm", Fraction("25.4")),
        ("ft", "mm", Fraction("304.8")),
        ("lb", "kg", Fraction("0.45359237")),
        ("bar", "kPa", Fraction(100)),
    ],
)
def test_a_factor_that_ends_is_exact(from_unit, to_unit, exact):
    assert Fraction(convert(Decimal(1), from_unit, to_unit)) == exact


@pytest.mark.parametrize(
    ("from_unit", "to_unit", "printed"),
    [
        ("lbf.ft", "N.m", "1.355818"),
        ("lbf.in", "N.m", "0.1129848"),
        ("psi", "kPa", "6.894757"),
        ("kgf.m", "N.m", "9.80665"),
        ("N.m", "lbf.ft", "0.7375621"),
        ("N.m", "lbf.in", "8.850746"),
    ],
)
def test_a_factor_rounds_to_the_seven_figures_printed(from_unit, to_unit, printed):
    factor = convert(Decimal(1), from_unit, to_unit)

    assert factor.quantize(Decimal(printed)) == Decimal(printed)


def test_a_pound_force_is_exact_in_the_registry():
    force = REGISTRY.Quantity(Decimal(1), "force_pound").to("newton")

    assert force.magnitude == Decimal("4.4482216152605")


def test_a_psi_is_a_pound_force_on_a_square_inch():
    exact = POUND_FORCE_N / INCH_M**2 / 1000

    assert abs(Fraction(convert(Decimal(1), "psi", "kPa")) / exact - 1) < Fraction(1, 10**40)


@pytest.mark.parametrize(
    ("unit", "radians"),
    [("degree", 0.017453292519943295), ("arcminute", 2.908882086657216e-4)],
)
def test_an_angle_is_right_in_radians(unit, radians):
    angle = REGISTRY.Quantity(Decimal(1), unit).to("radian").magnitude

    assert float(angle) == pytest.approx(radians, rel=1e-15)


def test_sixty_minutes_are_a_degree():
    assert convert(Decimal(60), "arcmin", "deg") == 1


@pytest.mark.parametrize(
    ("lbf_ft", "n_m"),
    [
        (15, "20.3373"),
        (20, "27.1164"),
        (30, "40.6745"),
        (50, "67.7909"),
        (60, "81.3491"),
        (70, "94.9073"),
        (80, "108.4654"),
        (90, "122.0236"),
        (100, "135.5818"),
        (150, "203.3727"),
    ],
)
def test_a_torque_agrees_with_the_table(lbf_ft, n_m):
    torque = convert(Decimal(lbf_ft), "lbf.ft", "N.m")

    assert torque.quantize(Decimal("0.0001")) == Decimal(n_m)


@pytest.mark.parametrize(
    ("fraction", "mm"),
    [
        ("1/64", "0.396875"),
        ("1/32", "0.79375"),
        ("1/16", "1.5875"),
        ("3/32", "2.38125"),
        ("1/8", "3.175"),
        ("3/16", "4.7625"),
        ("1/4", "6.35"),
        ("5/16", "7.9375"),
        ("3/8", "9.525"),
        ("7/16", "11.1125"),
        ("1/2", "12.7"),
    ],
)
def test_a_fraction_of_an_inch_is_exact(fraction, mm):
    assert read_quantity(f"{fraction} in", "length", "mm").si == Decimal(mm)


def test_speeds_and_masses_that_49_cfr_571_3_rounds_are_not_equal():
    """Its "32 km/h (20 mph)" and "1,361 kg (3,000 lb)" are roundings."""
    assert convert(Decimal(15), "mph", "km/h") == Decimal("24.14016")
    assert convert(Decimal(20), "mph", "km/h") == Decimal("32.18688")
    assert convert(Decimal(25), "mph", "km/h") == Decimal("40.2336")
    assert round(convert(Decimal(32), "km/h", "mph"), 4) == Decimal("19.8839")
    assert round(convert(Decimal(1361), "kg", "lb"), 3) == Decimal("3000.491")
