"""Speed and braking from timed lengths. Pure: standard library, no Django."""

from decimal import Decimal

KMH_PER_MS = Decimal("3.6")
# standard gravity, exact: NIST SP 811 (2008) App. B.8
GRAVITY_M_PER_S2 = Decimal("9.80665")


def speed_kmh(length_m: Decimal, time_s: Decimal) -> Decimal:
    """Return the mean speed in km/h over ``length_m`` metres in ``time_s`` seconds.

    Raises ValueError for a length or a time that is not above zero.
    """
    for name, value in (("length_m", length_m), ("time_s", time_s)):
        if value <= 0:
            raise ValueError(f"{name} must be above zero, not {value}")
    return length_m / time_s * KMH_PER_MS


def both_ways_kmh(length_m: Decimal, time_1_s: Decimal, time_2_s: Decimal) -> Decimal:
    """Return the mean in km/h of the speeds of two runs over one length, there and back.

    The mean of the two speeds, not length over mean time: wind and slope then cancel
    to the first order.
    """
    return (speed_kmh(length_m, time_1_s) + speed_kmh(length_m, time_2_s)) / 2


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
