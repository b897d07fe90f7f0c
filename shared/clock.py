"""The one clock. Doors (views, tasks, commands) read it and pass the moment down."""

import time as seconds
from bisect import bisect_left
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from shared import trials

# known by then is all that is in a journal
FOREVER = datetime.max.replace(tzinfo=UTC)
# of Linux: goes on while the machine sleeps
STEADY = getattr(seconds, "CLOCK_BOOTTIME", seconds.CLOCK_MONOTONIC)


def now() -> datetime:
    return datetime.now(UTC) + trials.clock_is_off_by()


def day_at(zone: str, at: datetime) -> date:
    """Return the calendar day it is in ``zone`` at the moment ``at``."""
    return at.astimezone(ZoneInfo(zone)).date()


def earliest_of(at: datetime, zone: str, *, day_only: bool) -> datetime:
    """Return the moment before which a thing of ``at`` had not begun, as far as that is known.

    Of one of which only the day is known, ``at`` is its noon: it may have begun with the day.
    """
    return moment_of(day_at(zone, at), 0, zone) if day_only else at


def noon_of(day: date, zone: str) -> datetime:
    """Return noon of ``day`` in ``zone``, as UTC: what a date without a time stands for."""
    return datetime.combine(day, time(12), ZoneInfo(zone)).astimezone(UTC)


def moment_of(day: date, hour: int, zone: str) -> datetime:
    """Return the first moment at or after ``hour`` o'clock of ``day`` in ``zone``, as UTC.

    An hour that the clock skips becomes the first later instant; one that comes
    twice is its first coming.
    """
    wall = datetime.combine(day, time(hour), ZoneInfo(zone))
    at = wall.astimezone(UTC)
    is_there = at.astimezone(wall.tzinfo).replace(tzinfo=None) == wall.replace(tzinfo=None)
    return at if is_there else _end_of_gap(wall)


def _end_of_gap(wall):
    """Return the instant at which the clock moved on past a time that it left out."""
    # read by the offset after the move it lies before it, and the other way round (PEP 495)
    early, late = wall.replace(fold=1).astimezone(UTC), wall.astimezone(UTC)
    after = late.astimezone(wall.tzinfo).utcoffset()

    def has_moved(passed_s):
        moment = early + timedelta(seconds=passed_s)
        return moment.astimezone(wall.tzinfo).utcoffset() == after

    seconds_between = range(int((late - early).total_seconds()))
    return early + timedelta(seconds=bisect_left(seconds_between, True, key=has_moved))


def morning_of(day: date, hour: int, zone: str) -> datetime:
    """Return when the mail of ``day`` goes out: ``moment_of``, or an hour before the hour.

    That is where the clock leaves out the day's last hour, and the first later instant
    is the next day's.
    """
    at = moment_of(day, hour, zone)
    return at if day_at(zone, at) == day else moment_of(day, max(hour - 1, 0), zone)


def end_of(day: date, zone: str) -> datetime:
    """Return the last microsecond of ``day`` in ``zone``, as UTC; of an hour twice, the second."""
    last = time.max.replace(fold=1)
    return datetime.combine(day, last, ZoneInfo(zone)).astimezone(UTC)


class Watch:
    """Notices when the clock is set while a process runs: it moves apart from a steady one."""

    def __init__(self, least_s: float = 300):
        self.least_s = least_s
        self.apart_s: float | None = None

    def step_s(self, at: datetime) -> float:
        """Return by how many seconds the clock was set since the last look, 0 below the least."""
        before_s, self.apart_s = self.apart_s, at.timestamp() - seconds.clock_gettime(STEADY)
        moved_s = 0 if before_s is None else self.apart_s - before_s
        return moved_s if abs(moved_s) >= self.least_s else 0
