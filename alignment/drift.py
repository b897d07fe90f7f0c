"""How a value of a cart moved from sheet to sheet, what was turned left out. Pure.

Values in one unit for a whole history: degrees of camber, or degrees of total toe, which
compare across tyres of different diameters. Uncertainties are expanded (k = 2).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import combinations
from math import hypot
from statistics import median

LEAST_VISITS = 3  # fewer make no slope: common practice, no source
LEAST_STEPS = 3  # fewer are no drift: common practice, no source
SHOWS = 0.5  # of the slope, which a step that shows the drift has at least
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
            found.append(_between(base, visit, visit.found))
        if visit.is_turned:
            base = visit if visit.left is not None else None
        elif base is None and visit.left is not None:
            base = visit
    return found


def _step(before, visit):
    return _between(before, visit, _met(visit))


def _between(base, visit, after):
    before = base.left
    expanded = hypot(before.expanded, after.expanded)
    return Change(base.at, visit.at, after.value - before.value, expanded)


def moved_again(visits: Sequence[Visit]) -> bool:
    """Whether what is proved to have moved now had moved and been put right before."""
    found = changes(visits)
    turned = {one.at for one in visits if one.is_turned}
    if not found or not found[-1].is_proved or found[-1].since not in turned:
        return False
    return any(one.is_proved and one.at in turned for one in found[:-1])


def steps(visits: Sequence[Visit]) -> list[Change]:
    """Return from each measured visit to the next what changed with nothing turned, by time."""
    found, before = [], None
    for visit in visits:
        if before is not None and _met(visit) is not None:
            found.append(_step(before, visit))
        if visit.is_turned or visit.left is not None:
            before = visit if visit.left is not None else None
    return found


def jump(visits: Sequence[Visit]) -> Change | None:
    """Return the largest step, if it is proved."""
    largest = max(steps(visits), key=lambda one: abs(one.value), default=None)
    return largest if largest is not None and largest.is_proved else None


def drift(visits: Sequence[Visit]) -> Slope | None:
    """Return the slope where it is proved, of LEAST_STEPS steps or more, and of no single jump.

    A step shows the slope that goes its way at SHOWS of its rate or faster. A jump is what
    explains the slope where the visits without that step prove none.
    """
    found, knock = slope(visits), jump(visits)
    if found is None or not found.is_proved or _showing(visits, found) < LEAST_STEPS:
        return None
    if knock is not None:
        rest = slope(_without(visits, knock))
        return found if rest is not None and rest.is_proved else None
    return found


def _showing(visits, found):
    told = [one for one in steps(visits) if _days(one) >= 1]
    return sum(one.value / _days(one) / found.a_day >= SHOWS for one in told)


def _without(visits, knock):
    """Return the visits as if a step had not been, up to the next adjustment."""
    kept, is_moved = [], False
    for visit in visits:
        is_moved = is_moved or visit.at == knock.at
        kept.append(_moved_back(visit, knock.value) if is_moved else visit)
        is_moved = is_moved and not visit.is_turned
    return kept


def _moved_back(visit, value):
    found = _less(visit.found, value)
    left = visit.left if visit.is_turned else _less(visit.left, value)
    return replace(visit, found=found, left=left)


def _less(measured, value):
    return measured and replace(measured, value=measured.value - value)


def slope(visits: Sequence[Visit]) -> Slope | None:
    """Return the drift a day between adjustments; None of fewer than LEAST_VISITS visits.

    The median of the slopes between all pairs of visits with no adjustment between them
    (Theil 1950, Sen 1968), from what the first left to what the second found; so one jump
    that was put right is no drift. Its range is the median of their lower and that of their
    upper ends, each slope with the expanded uncertainty of both measurements: no narrower
    for more visits, since tape and square are the same ones.
    """
    pairs = [pair for pair in combinations(visits, 2) if _is_drift(visits, *pair)]
    count = len({visit.at for pair in pairs for visit in pair})
    if count < LEAST_VISITS:
        return None
    slopes = [_slope(*pair) for pair in pairs]
    low = median(a_day - spread for a_day, spread in slopes)
    high = median(a_day + spread for a_day, spread in slopes)
    return Slope(median(a_day for a_day, _spread in slopes), low, high, count)


def _is_drift(visits: Sequence[Visit], first: Visit, second: Visit) -> bool:
    """Whether both measured, a day apart or more, and nothing was turned between them."""
    if first.left is None or _met(second) is None or _days(_step(first, second)) < 1:
        return False
    return not any(one.is_turned for one in visits if first.at < one.at < second.at)


def _met(visit: Visit) -> Measured | None:
    """Return what a visit met: where nothing was turned, the better read of both."""
    return visit.found if visit.is_turned else visit.left


def _days(change: Change) -> float:
    return (change.at - change.since).total_seconds() / DAY_SECONDS


def _slope(first: Visit, second: Visit) -> tuple[float, float]:
    """Return (drift a day, its expanded uncertainty)."""
    step = _step(first, second)
    return step.value / _days(step), step.expanded / _days(step)
