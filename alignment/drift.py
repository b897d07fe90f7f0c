"""How a value of a cart moved from sheet to sheet, what was turned left out. Pure.

Values in one unit for a whole history: degrees of camber, or degrees of total toe, which
compare across tyres of different diameters. Uncertainties are expanded (k = 2).
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations
from math import hypot
from statistics import median

LEAST_VISITS = 3  # fewer make no slope: common practice, no source
DAY_SECONDS = 86_400


@dataclass(frozen=True)
class Measured:
    """A value with its expanded uncertainty.

    Raises ValueError for an uncertainty below zero.
    """

    value: float
    expanded: float

    def __post_init__(self) -> None:
        if not self.expanded >= 0:
            raise ValueError(f"expanded must be at least 0, not {self.expanded}")


@dataclass(frozen=True)
class Visit:
    """What one sheet says of a value: as found, and as it was left; None where not measured.

    ``is_turned``: what moves the value was turned in between. Where not, both are one
    measurement, and ``left`` is the better read of them.
    """

    at: datetime
    found: Measured | None
    left: Measured | None
    is_turned: bool = False


@dataclass(frozen=True)
class Change:
    """What was found, less what had been left at the last adjustment before.

    ``since`` and ``at`` are the moments of those sheets. Both measurements are independent,
    so their expanded uncertainties combine by squares (JCGM 100:2008 5.1.2).
    """

    since: datetime
    at: datetime
    value: float
    expanded: float

    @property
    def is_proved(self) -> bool:
        """It is more than both uncertainties together explain."""
        return abs(self.value) > self.expanded


@dataclass(frozen=True)
class Slope:
    """By how much a value drifts a day, between what that lies, and of how many sheets."""

    a_day: float
    low: float
    high: float
    count: int

    @property
    def is_proved(self) -> bool:
        return self.low > 0 or self.high < 0


def since_break(visits: Iterable[Visit], breaks: Iterable[datetime]) -> list[Visit]:
    """Return the visits after the last of the ``breaks``, such as another lift, by time."""
    last = max(breaks, default=None)
    kept = [one for one in visits if last is None or one.at >= last]
    return sorted(kept, key=lambda one: one.at)


def changes(visits: Sequence[Visit]) -> list[Change]:
    """Return by visit how far what it found lies from what was left last, by time.

    Left last is what the last adjustment left; before any, the first that was measured. So
    a slow drift adds up over visits that adjust nothing. After an adjustment whose result
    was not measured nothing is compared until the next measurement.
    """
    found, base = [], None
    for visit in visits:
        if base is not None and visit.found is not None:
            found.append(_change(base, visit))
        if visit.is_turned:
            base = visit if visit.left is not None else None
        elif base is None and visit.left is not None:
            base = visit
    return found


def _change(base: Visit, visit: Visit) -> Change:
    before, after = base.left, visit.found
    expanded = hypot(before.expanded, after.expanded)
    return Change(base.at, visit.at, after.value - before.value, expanded)


def slope(visits: Sequence[Visit]) -> Slope | None:
    """Return the drift a day with all adjustments taken out; None of too few visits.

    The median of the slopes between all pairs of visits (Theil 1950, Sen 1968). Its range is
    the median of their lower and that of their upper ends, each slope with the expanded
    uncertainty of all measurements that it rests on: no narrower for more visits, since
    tape and square are the same ones.
    """
    whole = _unbroken(visits)
    pairs = [_pair(whole, i, j) for i, j in combinations(range(len(whole)), 2)]
    known = [pair for pair in pairs if pair is not None]
    if len(whole) < LEAST_VISITS or not known:
        return None
    low = median(a_day - spread for a_day, spread in known)
    high = median(a_day + spread for a_day, spread in known)
    return Slope(median(a_day for a_day, _spread in known), low, high, len(whole))


def _unbroken(visits: Sequence[Visit]) -> list[Visit]:
    """Return the measured visits after the last adjustment of which the result is not known."""
    kept: list[Visit] = []
    for visit in visits:
        if visit.is_turned and (visit.found is None or visit.left is None):
            kept = []
        if visit.left is not None:
            kept.append(visit)
    return kept


def _pair(visits: Sequence[Visit], i: int, j: int) -> tuple[float, float] | None:
    """Return (drift a day, its expanded uncertainty) between two visits; None within a day."""
    days = (visits[j].at - visits[i].at).total_seconds() / DAY_SECONDS
    if days < 1:
        return None
    parts = list(_parts(visits, i, j))
    drift = sum(sign * one.value for sign, one in parts)
    return drift / days, hypot(*(one.expanded for _sign, one in parts)) / days


def _parts(visits, i, j) -> Iterator[tuple[int, Measured]]:
    """Yield what a drift is the sum of, with its sign: each adjustment between is taken out."""
    yield -1, visits[i].left
    for visit in visits[i + 1 : j]:
        if visit.is_turned:
            yield 1, visit.found
            yield -1, visit.left
    yield 1, visits[j].found if visits[j].is_turned else visits[j].left
