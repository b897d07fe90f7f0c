"""Speed from timed lengths, how far it may be off, and what it proves of a limit. Pure."""

from dataclasses import dataclass
from decimal import Decimal

from lifts.speed_classes import Limit

KMH_PER_MS = Decimal("3.6")
# Standard uncertainty of one run timed by hand; judgement, no source.
TIMING_U_S = Decimal("0.2")
COVERAGE_K = 2  # about 95 %: NIST/SEMATECH handbook of statistical methods, 2.5.7

OVER, UNDER, CANT_TELL, BOUNDARY = "over", "under", "can't tell", "boundary"


@dataclass(frozen=True)
class TimedSpeed:
    """The mean of two runs, its expanded uncertainty (COVERAGE_K), and the runs, all in km/h."""

    kmh: Decimal
    uncertainty_kmh: Decimal
    runs_kmh: tuple[Decimal, Decimal]


def speed_kmh(length_m: Decimal, time_s: Decimal) -> Decimal:
    """Return the mean speed in km/h over ``length_m`` metres in ``time_s`` seconds.

    Raises ValueError for a length or a time that is not above zero.
    """
    _refuse_not_above_zero(length_m=length_m, time_s=time_s)
    return length_m / time_s * KMH_PER_MS


def both_ways_kmh(length_m: Decimal, time_1_s: Decimal, time_2_s: Decimal) -> Decimal:
    """Return the mean in km/h of the speeds of two runs over one length, there and back.

    The mean of the two speeds, not length over mean time: wind and slope then cancel
    to the first order.
    """
    return (speed_kmh(length_m, time_1_s) + speed_kmh(length_m, time_2_s)) / 2


def timed_speed(
    length_m: Decimal, time_1_s: Decimal, time_2_s: Decimal, timing_u_s: Decimal = TIMING_U_S
) -> TimedSpeed:
    """Return the speed of two runs over one length, there and back, with its uncertainty.

    v = L / t has u(v) = v u(t) / t, and the mean of two runs half the root of the sum of
    their squares: U = k / 2 sqrt((v1 u / t1)**2 + (v2 u / t2)**2), with ``timing_u_s`` for
    u in seconds (JCGM 100:2008 5.1.2, 6.2.1). The length counts as exact, the two timings
    as independent; a slope or wind that differs between the runs is not in it.

    Raises ValueError for a length or a time that is not above zero, or a ``timing_u_s``
    below zero.
    """
    if timing_u_s < 0:
        raise ValueError(f"timing_u_s must be at least zero, not {timing_u_s}")
    runs_kmh = (speed_kmh(length_m, time_1_s), speed_kmh(length_m, time_2_s))
    of_runs_kmh = [
        run_kmh * timing_u_s / time_s
        for run_kmh, time_s in zip(runs_kmh, (time_1_s, time_2_s), strict=True)
    ]
    root_kmh = sum((u_kmh**2 for u_kmh in of_runs_kmh), Decimal(0)).sqrt()
    mean_kmh = both_ways_kmh(length_m, time_1_s, time_2_s)
    return TimedSpeed(mean_kmh, COVERAGE_K * root_kmh / 2, runs_kmh)


def predicted_kmh(speed_kmh: Decimal, from_mm: Decimal, to_mm: Decimal) -> Decimal:
    """Return the speed on tyres of another diameter at the same turns of the wheel: v D'/D.

    Raises ValueError for a speed below zero, or a diameter that is not above zero.
    """
    if speed_kmh < 0:
        raise ValueError(f"speed_kmh must be at least zero, not {speed_kmh}")
    _refuse_not_above_zero(from_mm=from_mm, to_mm=to_mm)
    return speed_kmh * to_mm / from_mm


def verdict(speed: TimedSpeed, limit: Limit) -> str:
    """Return what a timed speed proves of a limit: over, under, can't tell, or boundary.

    Over: the speed less its uncertainty is above the limit. Under: the speed with its
    uncertainty is below it. Boundary: proved over one reading of the limit and under the
    other; a person decides.
    """
    lowest_kmh = speed.kmh - speed.uncertainty_kmh
    highest_kmh = speed.kmh + speed.uncertainty_kmh

    def against(upper_kmh: Decimal) -> str:
        if lowest_kmh > upper_kmh:
            return OVER
        return UNDER if highest_kmh < upper_kmh else CANT_TELL

    return _agreed({against(upper_kmh) for upper_kmh in limit.uppers_kmh})


def predicted_verdict(kmh: Decimal, limit: Limit) -> str:
    """Return over or under for a speed without uncertainty; boundary between two readings.

    At the limit itself a speed is under, or over where the limit says below.
    """

    def against(upper_kmh: Decimal) -> str:
        is_met = kmh < upper_kmh if limit.is_below else kmh <= upper_kmh
        return UNDER if is_met else OVER

    return _agreed({against(upper_kmh) for upper_kmh in limit.uppers_kmh})


def _agreed(answers: set[str]) -> str:
    if len(answers) == 1:
        return answers.pop()
    return CANT_TELL if CANT_TELL in answers else BOUNDARY


def _refuse_not_above_zero(**values: Decimal) -> None:
    for name, value in values.items():
        if value <= 0:
            raise ValueError(f"{name} must be above zero, not {value}")
