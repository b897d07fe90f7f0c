"""How far a reading of camber or toe may be off, and what it then proves. Pure.

After the GUM (JCGM 100:2008): a mark read to the nearest is a rectangular distribution
(4.3.7), parts combine by squares (5.1.2), the expanded uncertainty is k times (6.2.1).
"""

from collections.abc import Sequence
from math import degrees, isfinite, sqrt
from statistics import stdev

INSIDE, CANT_TELL, OUTSIDE = "inside", "can't tell", "outside"

COVERAGE = 2  # about 95 %: JCGM 100:2008 6.3.3
# How well one reading repeats by hand: common practice, no source.
CAMBER_REPEAT_DEG = 0.10
TOE_REPEAT_MM = 0.02 * 25.4


def mark_standard(mark: float) -> float:
    """Return the standard uncertainty of one reading to the nearest ``mark``, in its unit.

    Half a mark either way, rectangular: mark / 2 / sqrt(3) (JCGM 100:2008 4.3.7).

    Raises ValueError for a mark that is not above zero.
    """
    if not (isfinite(mark) and mark > 0):
        raise ValueError(f"mark must be above 0, not {mark}")
    return mark / 2 / sqrt(3)


def repeat_of(readings: Sequence[float], default: float) -> float:
    """Return how one reading repeats: the readings' own scatter, ``default`` if larger.

    Raises ValueError without a reading.
    """
    if not readings:
        raise ValueError("readings must hold one at least, not none")
    return max(default, stdev(readings)) if len(readings) > 1 else default


def toe_standard_mm(mark_mm: float, readings_mm: Sequence[float]) -> float:
    """Return the standard uncertainty in mm of the mean of these readings of toe.

    Each is the difference of two tape readings to the nearest ``mark_mm``:
    u^2 = 2 (mark / 2 / sqrt(3))^2 + s^2 / n. The tape's share does not shrink by repeating.
    """
    repeat_mm = repeat_of(readings_mm, TOE_REPEAT_MM)
    return sqrt(2 * mark_standard(mark_mm) ** 2 + repeat_mm**2 / len(readings_mm))


def square_standard_deg(mark_mm: float, between_mm: float, readings_deg: Sequence[float]) -> float:
    """Return the standard uncertainty in degrees of the mean of these cambers by a square.

    Two gaps to the nearest ``mark_mm``, as an angle over ``between_mm``, and the repeat:
    u^2 = 2 (mark / 2 / sqrt(3) / between)^2 + s^2 / n.

    Raises ValueError for a height that is not above zero.
    """
    if not (isfinite(between_mm) and between_mm > 0):
        raise ValueError(f"between_mm must be above 0, not {between_mm}")
    gaps_deg = degrees(sqrt(2) * mark_standard(mark_mm) / between_mm)
    return sqrt(gaps_deg**2 + repeat_of(readings_deg, CAMBER_REPEAT_DEG) ** 2 / len(readings_deg))


def gauge_standard_deg(mark_deg: float, readings_deg: Sequence[float]) -> float:
    """Return the standard uncertainty in degrees of the mean of these cambers by a gauge."""
    repeat_deg = repeat_of(readings_deg, CAMBER_REPEAT_DEG)
    return sqrt(mark_standard(mark_deg) ** 2 + repeat_deg**2 / len(readings_deg))


def verdict(value: float, low: float, high: float, expanded: float) -> str:
    """Return "inside", "can't tell" or "outside" for a value against [low, high].

    Inside and outside are proved: the value with its ``expanded`` uncertainty, all in one
    unit, lies wholly within or wholly beyond the limits. A guard band of the whole expanded
    uncertainty on both sides (JCGM 106:2012 8.3).

    Raises ValueError for crossed limits or an uncertainty below zero.
    """
    if not low <= high:
        raise ValueError(f"low must not be above high, not {low} and {high}")
    if not expanded >= 0:
        raise ValueError(f"expanded must be at least 0, not {expanded}")
    if low + expanded <= value <= high - expanded:
        return INSIDE
    if value < low - expanded or value > high + expanded:
        return OUTSIDE
    return CANT_TELL
