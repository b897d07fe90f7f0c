"""Days on which a cart rests: they hold calendar limits and forecasts back. Pure.

Days are days of the cart's site. A lay-up holds from the day it begins up to, and not
with, the day of waking.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import date, timedelta
from decimal import Decimal

from fleet.gauge import Seen

LONGEST_PAUSE_DAYS = 240  # common practice, no source
VOID_HOURS = Decimal("1")  # common practice, no source
VOID_METRES = Decimal("4828.032")  # 3 mi; common practice, no source


@dataclass(frozen=True)
class LayUpLimits:
    """How long a lay-up pauses calendars, and the use beyond which it is void.

    Raises ValueError for anything below zero.
    """

    longest_days: int = LONGEST_PAUSE_DAYS
    void_hours: Decimal = VOID_HOURS
    void_metres: Decimal = VOID_METRES

    def __post_init__(self):
        for one in fields(self):
            if getattr(self, one.name) < 0:
                raise ValueError(f"{one.name} must not be below zero: {getattr(self, one.name)}")


DEFAULT_LIMITS = LayUpLimits()


@dataclass(frozen=True)
class LayUp:
    """A cart is laid up; ``until_day`` is the day of waking, None while it rests."""

    from_day: date
    until_day: date | None = None
    limits: LayUpLimits = DEFAULT_LIMITS

    def __post_init__(self):
        if self.until_day is not None and self.until_day < self.from_day:
            raise ValueError(f"the lay-up of {self.from_day} ends before it, {self.until_day}")

    def holds(self, day: date) -> bool:
        return self.from_day <= day and (self.until_day is None or day < self.until_day)


def after_running_days(start: date, days: int, lay_ups: Sequence[LayUp]) -> date:
    """Return the day that lies ``days`` days after ``start``, days at rest not counted.

    Each lay-up takes out at most its ``longest_days``; no day is taken out twice.
    """
    if days < 0:
        raise ValueError(f"days must not be below zero, not {days}")
    day = start + timedelta(days=days)
    if not lay_ups:
        return day
    counted_to = start
    for lay_up in sorted(lay_ups, key=lambda one: one.from_day):
        first = max(lay_up.from_day, counted_to + timedelta(days=1))
        if first > day:
            break
        after = _pause_end(lay_up)
        if after > first:
            day += after - first
            counted_to = after - timedelta(days=1)
    return day


def _pause_end(lay_up: LayUp) -> date:
    longest = lay_up.from_day + timedelta(days=lay_up.limits.longest_days)
    return longest if lay_up.until_day is None else min(longest, lay_up.until_day)


def awake_from(day: date, lay_ups: Sequence[LayUp]) -> date | None:
    """Return the day, or the waking day if the cart rests then; None if it has not woken."""
    for lay_up in sorted(lay_ups, key=lambda one: one.from_day):
        if lay_up.holds(day):
            if lay_up.until_day is None:
                return None
            day = lay_up.until_day
    return day


def lay_up_void(lay_up: LayUp, hours: Sequence[Seen], metres: Sequence[Seen]) -> bool:
    """Return whether more was run at rest, by true readings, than the lay-up allows."""
    return (
        run_at_rest(lay_up, hours) > lay_up.limits.void_hours
        or run_at_rest(lay_up, metres) > lay_up.limits.void_metres
    )


def run_at_rest(lay_up: LayUp, seen: Sequence[Seen]) -> Decimal:
    """Return the life run from the day of laying up to the first reading on waking."""
    lives = [one.point.life for one in read_at_rest(lay_up, seen)]
    return lives[-1] - lives[0] if lives else Decimal(0)


def read_at_rest(lay_up: LayUp, seen: Sequence[Seen]) -> list[Seen]:
    """Return the true readings between which it is counted what was run, in order of time.

    From the last one by the day of laying up, else the first one at rest.
    """
    true = [one for one in seen if not one.point.estimated]
    before = [one for one in true if one.day <= lay_up.from_day][-1:]
    resting = [one for one in true if one.day > lay_up.from_day and lay_up.holds(one.day)]
    waking = [one for one in true if one.day == lay_up.until_day != lay_up.from_day][:1]
    return before + resting + waking
