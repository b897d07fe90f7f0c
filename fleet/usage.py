"""Meter readings into life, and rate of use. Pure: no Django, no clock.

*Shown* is what a meter says, in its own units. *Life* is what the cart has run since it was
new, in life units: hours, or true metres; ``unit`` is what one shown unit is in life units
(1 for hours, 1609.344 for miles, 1000 for km). Moments are all aware and in UTC, or all
naive: Python takes differences within one other zone by its wall clock.
"""

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import combinations, pairwise
from operator import attrgetter
from statistics import NormalDist, median
from typing import NamedTuple

RATE_WINDOW_DAYS = 60
RATE_MAX_GAP_DAYS = 45
RATE_MIN_SITTINGS = 3
RATE_LEAST_SPAN_DAYS = 7  # work days and a weekend alike; common practice, no source
ONE_SITTING = timedelta(hours=12)  # nearer readings show a drive; common practice, no source
RATE_CONFIDENCE = 0.90
RATE_Z = NormalDist().inv_cdf((1 + RATE_CONFIDENCE) / 2)
FARTHEST_DAYS = 36_525  # a hundred years: a date can still be made of it

MICROSECOND = timedelta(microseconds=1)
MICROSECONDS_A_DAY = Decimal(86_400_000_000)
NO_RUN = Decimal(0)
UNBOUNDED = Decimal("Infinity")
BY_MOMENT = attrgetter("at")


@dataclass(frozen=True)
class MeterStart:
    """A meter fitted at ``at``, showing ``shown``; ``old_final`` is what the one before showed.

    ``rolls_at`` is the figure at which it starts again from zero. A wheel-driven meter counts
    turns of a tyre of ``set_for_mm`` diameter.
    """

    at: datetime
    shown: Decimal
    old_final: Decimal | None = None
    rolls_at: Decimal | None = None
    wheel_driven: bool = False
    set_for_mm: Decimal | None = None


class Shown(NamedTuple):
    """A reading; ``rolled`` says that the meter passed its roll point once since the last."""

    at: datetime
    value: Decimal
    rolled: bool = False
    estimated: bool = False


@dataclass(frozen=True)
class TyreChange:
    """Tyres of this diameter from ``at`` on."""

    at: datetime
    diameter_mm: Decimal


class LifePoint(NamedTuple):
    """What the meter then in place showed at ``at``, and the life run by then."""

    at: datetime
    shown: Decimal
    life: Decimal
    estimated: bool


@dataclass(frozen=True)
class Rate:
    """Life units a day, with a 90 % interval, from ``count`` points."""

    per_day: Decimal
    low: Decimal
    high: Decimal
    count: int
    estimated: bool


class _Event(NamedTuple):
    """A reading or a meter change: the figure reached, and the one that counting goes on from."""

    at: datetime
    reached: Decimal | None
    shown: Decimal
    meter: MeterStart | None = None
    rolled: bool = False
    estimated: bool = False


def life_points(
    starts: Iterable[MeterStart],
    readings: Iterable[Shown],
    tyres: Iterable[TyreChange] = (),
    *,
    unit: Decimal = Decimal(1),
) -> tuple[LifePoint, ...]:
    """Return the life at each meter start and reading, by time, whatever order they come in.

    The first figure known is the life so far: an old meter's final one, or what is shown.
    Each difference then adds ``unit`` times itself, and on a wheel-driven meter times (tyre
    diameter in force / diameter it is set for), shared by time where tyres changed between.

    Total over recorded facts. A lower figure without a reason adds nothing and counting goes
    on from it, as does a meter changed with no final figure. An estimate is only looked at:
    the next true reading counts from the last true one, so life never falls among those.
    At one moment, a reading nearer to the old meter's final figure is of the old meter.
    """
    changes = _by_time(tyres)
    points: list[LifePoint] = []
    last: LifePoint | None = None
    meter: MeterStart | None = None
    for event in _in_order(tuple(starts), readings):
        life = _life(last, event, meter, changes, unit)
        point = LifePoint(event.at, event.shown, life, event.estimated)
        points.append(point)
        meter = event.meter or meter
        if last is None or event.rolled or not event.estimated:
            last = point
    return tuple(points)


def _in_order(starts: tuple[MeterStart, ...], readings: Iterable[Shown]) -> list[_Event]:
    """Return all events by time; those of one moment in an order of their own."""
    events = [_Event(start.at, start.old_final, start.shown, start) for start in starts]
    events += [
        _Event(at, value, value, None, rolled, estimated)
        for at, value, rolled, estimated in readings
    ]
    if len({event.at for event in events}) == len(events):
        return sorted(events, key=BY_MOMENT)
    changed_at = {start.at: start for start in starts}
    return sorted(events, key=lambda event: _place(event, changed_at))


def _place(event: _Event, changed_at: dict[datetime, MeterStart]) -> tuple:
    """Return where an event stands among those of its moment: a change between two meters'."""
    if event.meter:
        return (event.at, 1, False, event.shown, False)
    place = 0 if _of_old_meter(event, changed_at.get(event.at)) else 2
    return (event.at, place, event.rolled, event.shown, event.estimated)


def _of_old_meter(seen: _Event, change: MeterStart | None) -> bool:
    if change is None or change.old_final is None:
        return False
    return abs(seen.shown - change.old_final) <= abs(seen.shown - change.shown)


def _life(
    last: LifePoint | None,
    event: _Event,
    meter: MeterStart | None,
    changes: Sequence[TyreChange],
    unit: Decimal,
) -> Decimal:
    if last is None:
        return (event.shown if event.reached is None else event.reached) * unit
    run = _run(last.shown, event, meter)
    return last.life + _true_run(run, last.at, event.at, meter, changes) * unit


def _run(before: Decimal, event: _Event, meter: MeterStart | None) -> Decimal:
    """Return how many shown units the meter ran; 0 for a fall without a reason."""
    if event.reached is None:
        return NO_RUN
    passed = meter.rolls_at if event.rolled and meter and meter.rolls_at else NO_RUN
    return max(NO_RUN, passed + event.reached - before)


def _true_run(
    run: Decimal,
    since: datetime,
    until: datetime,
    meter: MeterStart | None,
    changes: Sequence[TyreChange],
) -> Decimal:
    """Return ``run`` corrected for the tyres in force, each for its share of the time."""
    if meter is None or not meter.wheel_driven or not meter.set_for_mm:
        return run
    set_for_mm = meter.set_for_mm
    if since == until:
        return run * _diameter_mm(until, changes, set_for_mm) / set_for_mm
    cuts = [since, *(change.at for change in changes if since < change.at < until), until]
    weighed = sum(
        (end - start) // MICROSECOND * _diameter_mm(start, changes, set_for_mm)
        for start, end in pairwise(cuts)
    )
    return run * weighed / ((until - since) // MICROSECOND * set_for_mm)


def _diameter_mm(at: datetime, changes: Sequence[TyreChange], else_mm: Decimal) -> Decimal:
    """Return the tyre diameter in force; before any is known, the one the meter is set for."""
    place = bisect_right(changes, at, key=lambda change: change.at)
    return changes[place - 1].diameter_mm if place else else_mm


def _by_time(tyres: Iterable[TyreChange]) -> list[TyreChange]:
    return sorted(tyres, key=lambda change: (change.at, change.diameter_mm))


def days_in(span: timedelta) -> Decimal:
    """Return a span in days."""
    return Decimal(span // MICROSECOND) / MICROSECONDS_A_DAY


def life_at(points: Sequence[LifePoint], at: datetime) -> Decimal | None:
    """Return the life at the last point by ``at``; None before any."""
    place = bisect_right(points, at, key=BY_MOMENT)
    return points[place - 1].life if place else None


def first_reaching(
    points: Iterable[LifePoint], life: Decimal, *, after: datetime
) -> LifePoint | None:
    """Return the first point from ``after`` on that truly reached ``life``; no estimates."""
    true = (point for point in points if point.at >= after and not point.estimated)
    return next((point for point in true if point.life >= life), None)


def shown_at_life(
    points: Sequence[LifePoint],
    life: Decimal,
    *,
    unit: Decimal = Decimal(1),
    starts: Iterable[MeterStart] = (),
    tyres: Iterable[TyreChange] = (),
) -> Decimal:
    """Return what the present meter shows at ``life``, on the tyres now fitted.

    Counted from the last true point. Below zero where the present meter was not yet there;
    past its roll point it starts again. Raises ValueError without any point.
    """
    if not points:
        raise ValueError(f"no reading is known, so none can be foretold at life {life}")
    base = next((point for point in reversed(points) if not point.estimated), points[-1])
    meter = max(starts, key=lambda start: (start.at, start.shown), default=None)
    changes = _by_time(tyres)
    now = max([base.at, *(change.at for change in changes)])
    factor = _true_run(Decimal(1), now, now, meter, changes)
    figure = base.shown + (life - base.life) / (unit * factor)
    if meter and meter.rolls_at and figure >= meter.rolls_at:
        return figure % meter.rolls_at
    return figure


def use_rate(
    points: Sequence[LifePoint],
    *,
    window_days: int = RATE_WINDOW_DAYS,
    max_gap_days: int = RATE_MAX_GAP_DAYS,
    most_per_day: Decimal = UNBOUNDED,
) -> Rate | None:
    """Return the robust rate of use over the days before the last point.

    The median of the slopes between all pairs of points (Theil 1950, Sen 1968), in life units
    a day, and Sen's 90 % interval (his equation 2.6, with ties). Days without use count.
    Points less than half a day apart are as tied in time. No figure is above ``most_per_day``.
    None for points of fewer than three sittings or of less than a week, or a gap of more than
    ``max_gap_days`` between neighbours: then the class average stands in, marked estimated.
    """
    recent = recent_points(points, window_days=window_days, max_gap_days=max_gap_days)
    if not recent:
        return None
    slopes = _slopes(recent)
    low, high = _sen_places(len(slopes), recent)
    estimated = any(point.estimated for point in recent)
    figures = (median(slopes), slopes[low], slopes[high])
    return Rate(*(min(each, most_per_day) for each in figures), len(recent), estimated)


def recent_points(
    points: Sequence[LifePoint],
    *,
    window_days: int = RATE_WINDOW_DAYS,
    max_gap_days: int = RATE_MAX_GAP_DAYS,
) -> Sequence[LifePoint]:
    """Return the points that a rate of use rests on; none where they give no rate."""
    if not points:
        return ()
    opens = points[-1].at - timedelta(days=window_days)
    recent = points[bisect_left(points, opens, key=BY_MOMENT) :]
    if len(set(_sittings(recent))) < RATE_MIN_SITTINGS:
        return ()
    if recent[-1].at - recent[0].at < timedelta(days=RATE_LEAST_SPAN_DAYS):
        return ()
    gaps = [late.at - early.at for early, late in pairwise(recent)]
    return () if max(gaps) > timedelta(days=max_gap_days) else recent


def _sittings(points: Sequence[LifePoint]) -> list[datetime]:
    """Return for each point the moment at which its sitting began: each lasts half a day."""
    began: list[datetime] = []
    for point in points:
        goes_on = began and point.at - began[-1] < ONE_SITTING
        began.append(began[-1] if goes_on else point.at)
    return began


def _slopes(points: Sequence[LifePoint]) -> list[Decimal]:
    """Return the sorted slopes between all pairs of points half a day or more apart."""
    placed = [(days_in(point.at - points[0].at), point.life) for point in points]
    least = days_in(ONE_SITTING)
    return sorted((b - a) / (u - t) for (t, a), (u, b) in combinations(placed, 2) if u - t >= least)


def _sen_places(count: int, points: Sequence[LifePoint]) -> tuple[int, int]:
    """Return the places of the slopes that bound Sen's interval."""
    variance = (
        _tie_term(len(points)) - _tied(_sittings(points)) - _tied([point.life for point in points])
    ) / 18
    # Points tied both ways can take the variance below zero.
    spread = RATE_Z * math.sqrt(max(0.0, variance))
    low = max(round((count - spread) / 2) - 1, 0)
    high = min(round((count + spread) / 2), count - 1)
    return low, high


def _tied(values: Sequence[datetime | Decimal]) -> int:
    if len(set(values)) == len(values):
        return 0  # one alone counts for nothing
    return sum(map(_tie_term, Counter(values).values()))


def _tie_term(count: int) -> int:
    return count * (count - 1) * (2 * count + 5)


def days_until(remaining: Decimal, per_day: Decimal) -> int:
    """Return the whole days until ``remaining`` life is used: 0 if it is, at most FARTHEST_DAYS.

    Raises ValueError for a rate of zero or below.
    """
    if per_day <= 0:
        raise ValueError(f"per_day must be above zero, not {per_day}")
    if remaining >= FARTHEST_DAYS * per_day:
        return FARTHEST_DAYS
    return max(0, int(remaining // per_day))
