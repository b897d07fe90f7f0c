"""Braking from a timed stop, and how much longer bigger tyres make it. Pure."""

from decimal import Decimal

from lifts.speed import KMH_PER_MS, speed_kmh

# standard gravity, exact: NIST SP 811 (2008) App. B.8
GRAVITY_M_PER_S2 = Decimal("9.80665")
# Share of the cart's braking before its lift; judgement, no source.
LOOKED_INTO_BELOW = Decimal("0.80")


def braking_share(marked_m: Decimal, time_s: Decimal, stop_m: Decimal) -> Decimal:
    """Return the mean braking as a share of standard gravity: v**2 / (2 d g).

    ``v`` is the mean speed over ``marked_m`` metres in ``time_s`` seconds before the
    brake was pressed, ``d`` the distance ``stop_m`` from there to the stop in metres.

    Raises ValueError for a length or a time that is not above zero.
    """
    if stop_m <= 0:
        raise ValueError(f"stop_m must be above zero, not {stop_m}")
    speed_ms = speed_kmh(marked_m, time_s) / KMH_PER_MS
    return speed_ms**2 / (2 * stop_m * GRAVITY_M_PER_S2)


def share_of_reference(braking_g: Decimal, reference_g: Decimal) -> Decimal:
    """Return braking as a share of the cart's own before its lift, or of a plain cart's.

    Both as shares of standard gravity. Below LOOKED_INTO_BELOW the brakes are looked into.

    Raises ValueError for braking below zero or a reference that is not above zero.
    """
    if braking_g < 0:
        raise ValueError(f"braking_g must be at least zero, not {braking_g}")
    if reference_g <= 0:
        raise ValueError(f"reference_g must be above zero, not {reference_g}")
    return braking_g / reference_g


def growth_at_equal_speed(from_mm: Decimal, to_mm: Decimal) -> Decimal:
    """Return how many times as long a stop is on tyres of another diameter, from equal speed.

    D'/D for the same pedal effort: the same torque at the hub brakes with a force that falls
    as the diameter grows. First order; it does not hold once wheels lock, nor for another
    load.

    Raises ValueError for a diameter that is not above zero.
    """
    for name, value in (("from_mm", from_mm), ("to_mm", to_mm)):
        if value <= 0:
            raise ValueError(f"{name} must be above zero, not {value}")
    return to_mm / from_mm


def growth_at_new_top_speed(from_mm: Decimal, to_mm: Decimal) -> Decimal:
    """Return how many times as long a stop is from the top speed that the new tyres allow.

    (D'/D)**3: a force D/D' as large, from a speed D'/D as high, whose energy is its square.
    The same limits as ``growth_at_equal_speed``.

    Raises ValueError for a diameter that is not above zero.
    """
    return growth_at_equal_speed(from_mm, to_mm) ** 3
