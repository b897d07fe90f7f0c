"""Why a meter reading is hardly likely to be true. Pure: no Django, no clock."""

from bisect import bisect_right
from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from enum import Enum

from fleet.usage import LifePoint, days_in

QUESTIONED_HOURS_A_DAY = Decimal(12)  # common practice, no source
QUESTIONED_METRES_AN_HOUR = Decimal("40233.6")  # 25 mph, top of 49 CFR 571.3 "low-speed vehicle"
GRACE_HOURS = Decimal("0.5")  # rounding of meters and clocks; common practice, no source
HOUR_METER_STEP_HOURS = Decimal("0.1")  # common practice, no source
NEAR_ROLL_SHARE = Decimal("0.1")  # of the roll point; common practice, no source
HOURS_A_DAY = Decimal(24)
MOST_A_DAY = {"hours": HOURS_A_DAY, "distance": QUESTIONED_METRES_AN_HOUR * HOURS_A_DAY}
ONE = Decimal(1)


class Doubt(Enum):
    """Why a reading is not taken as it stands."""

    LOWER = "lower"
    IMPOSSIBLE = "impossible"
    QUESTIONED = "questioned"
    MAYBE_ROLLED = "maybe rolled"


WORST_FIRST = tuple(Doubt)


def doubt_of(
    points: Sequence[LifePoint], at: datetime, value: Decimal, *, measure: str, **known
) -> Doubt | None:
    """Return why a meter is hardly likely to have shown ``value`` at ``at``; None if it may.

    ``measure`` is "hours" or "distance" (life in metres). The true points next to it on both
    sides are asked, so that an old reading that comes in late is judged too; the meter in
    place before it is the one read. ``hours_run`` are the hours run since the point before.

    LOWER: less than before, or more than after. MAYBE_ROLLED: less than before, which stood
    within a tenth below ``rolls_at``. IMPOSSIBLE: over 24 h a day, or over 25 mph all the
    time. QUESTIONED: over 12 h a day, or over 25 mph in the hours run (in 12 h a day if not
    known). ``grace_hours`` are let pass; give 24 where only days are known.

    What else is ``known`` goes to ``doubt_between``. Raises ValueError for another ``measure``.
    """
    if measure not in ("hours", "distance"):
        raise ValueError(f'measure must be "hours" or "distance", not {measure!r}')
    true = [point for point in points if not point.estimated]
    place = bisect_right(true, at, key=lambda point: point.at)
    before, after = true[place - 1] if place else None, next(iter(true[place:]), None)
    return doubt_between(before, after, at, value, measure=measure, **known)


def doubt_between(
    before: LifePoint | None,
    after: LifePoint | None,
    at: datetime,
    value: Decimal,
    *,
    measure: str,
    unit: Decimal = Decimal(1),
    rolls_at: Decimal | None = None,
    hours_run: Decimal | None = None,
    grace_hours: Decimal = GRACE_HOURS,
) -> Doubt | None:
    """Return what ``doubt_of`` does, of a figure between the true points next to it."""
    if before and value < before.shown:
        return _doubt_of_lower(before.shown, rolls_at)
    since = until = None
    if before:
        run = (value - before.shown) * unit
        since = _doubt_of_run(run, at - before.at, measure, hours_run, grace_hours)
    if after:
        run = _run_to_next(before, value, after, unit)
        until = _doubt_of_run(run, after.at - at, measure, None, grace_hours)
    if since is None or until is None:
        return since or until
    return min(since, until, key=WORST_FIRST.index)


def _doubt_of_lower(before: Decimal, rolls_at: Decimal | None) -> Doubt:
    near = rolls_at is not None and rolls_at * (1 - NEAR_ROLL_SHARE) <= before < rolls_at
    return Doubt.MAYBE_ROLLED if near else Doubt.LOWER


def _run_to_next(
    before: LifePoint | None, value: Decimal, after: LifePoint, unit: Decimal
) -> Decimal:
    """Return the life run from ``value`` to the point after; below zero if they conflict."""
    if before is None or after.shown >= before.shown:
        return (after.shown - value) * unit
    # The meter was changed or rolled over between: only life goes on.
    return after.life - before.life - (value - before.shown) * unit


def _doubt_of_run(
    run: Decimal,
    span: timedelta,
    measure: str,
    hours_run: Decimal | None,
    grace_hours: Decimal,
) -> Doubt | None:
    pace = ONE if measure == "hours" else QUESTIONED_METRES_AN_HOUR
    if run < 0:
        return Doubt.LOWER
    days = days_in(span)
    if run > pace * (HOURS_A_DAY * days + grace_hours):
        return Doubt.IMPOSSIBLE
    likely_hours = QUESTIONED_HOURS_A_DAY * max(days, ONE)
    if measure == "distance" and hours_run is not None:
        likely_hours = hours_run + HOUR_METER_STEP_HOURS
    return Doubt.QUESTIONED if run > pace * likely_hours else None
