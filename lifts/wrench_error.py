"""What a wrench with known errors delivers, and when it is due for calibration. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from lifts.torque import Number, above_zero, tolerance_band_nm

# ISO 6789 default, where no procedure of one's own is written: 12 months or 5,000 pulls
DEFAULT_INTERVAL_DAYS = 365
MOST_PULLS = 5000

ROUNDING = 1e-9  # of two floats that are the same on paper


@dataclass(frozen=True)
class ErrorPoint:
    """A line of a certificate: at ``set_nm`` the wrench delivers ``set_nm * (1 + error)``.

    So an ``error`` of -0.14 delivers 14 % less than is set.
    """

    set_nm: float
    error: float


def error_at(points: Sequence[ErrorPoint], set_nm: Number) -> float:
    """Return the error at ``set_nm`` as a share of it: linear between the points' errors.

    Below the first point and above the last one it is theirs.

    Raises ValueError for no point, two at one torque, or a torque not above zero.
    """
    (setting,) = above_zero(set_nm=set_nm)
    ordered = _ordered(points)
    if setting <= ordered[0].set_nm:
        return ordered[0].error
    for below, above in pairwise(ordered):
        if setting <= above.set_nm:
            part = (setting - below.set_nm) / (above.set_nm - below.set_nm)
            return below.error + part * (above.error - below.error)
    return ordered[-1].error


def _ordered(points: Sequence[ErrorPoint]) -> list[ErrorPoint]:
    ordered = sorted(points, key=lambda point: point.set_nm)
    if not ordered:
        raise ValueError(f"a wrench's error needs at least one point, not {points}")
    for one, other in pairwise(ordered):
        if one.set_nm == other.set_nm:
            raise ValueError(f"two points of a wrench stand at {one.set_nm} N.m")
    return ordered


def delivered_nm(points: Sequence[ErrorPoint], set_nm: Number) -> float:
    """Return the torque in N.m that the nut gets at a setting. Raises as error_at does."""
    return float(set_nm) * (1 + error_at(points, set_nm))


def breaks_tolerance(
    points: Sequence[ErrorPoint],
    target_nm: Number,
    low_nm: Number | None = None,
    high_nm: Number | None = None,
) -> bool:
    """Say whether a wrench set to the target delivers less than the low or more than the high.

    The bounds themselves are inside; where one is not given it is 10 % off the target.
    Raises as error_at and tolerance_band_nm do.
    """
    low, high = tolerance_band_nm(target_nm, low_nm, high_nm)
    delivered = delivered_nm(points, target_nm)
    return not low * (1 - ROUNDING) <= delivered <= high * (1 + ROUNDING)


def is_out_of_tolerance(points: Sequence[ErrorPoint], tolerance: Number) -> bool:
    """Say whether any point's error, up or down, is more than ``tolerance``, a share of the set.

    Raises ValueError for no point, since nothing is known then.
    """
    if not points:
        raise ValueError(f"a wrench's error needs at least one point, not {points}")
    return any(abs(point.error) > float(tolerance) + ROUNDING for point in points)


def next_interval_days(
    was_out: bool,
    last_days: int = DEFAULT_INTERVAL_DAYS,
    *,
    default: int = DEFAULT_INTERVAL_DAYS,
) -> int:
    """Return how many days may pass until the next calibration.

    Half of the last interval when the wrench was found out of tolerance (common practice, no
    source), rounded down and at least one day; when it was found good the default again.

    Raises ValueError for an interval below one day.
    """
    if min(last_days, default) < 1:
        raise ValueError(f"an interval is at least one day, not {min(last_days, default)}")
    return max(1, last_days // 2) if was_out else default


def due_on(calibrated_on: date, days: int = DEFAULT_INTERVAL_DAYS) -> date:
    """Return the last day on which a calibration still holds by the calendar."""
    return calibrated_on + timedelta(days=days)


def is_due(today: date, last_day: date, pulls: int, most_pulls: int = MOST_PULLS) -> bool:
    """Say whether a wrench must be calibrated before it is used again.

    That is once its last day is past, or once it was pulled ``most_pulls`` times since its
    calibration, whichever comes first.
    """
    return today > last_day or pulls >= most_pulls
