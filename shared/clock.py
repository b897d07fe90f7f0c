"""The one clock. Doors (views, tasks, commands) read it and pass the moment down."""

import time as seconds
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

from shared import trials

# of Linux: goes on while the machine sleeps
STEADY = getattr(seconds, "CLOCK_BOOTTIME", seconds.CLOCK_MONOTONIC)


def now() -> datetime:
    return datetime.now(UTC) + trials.clock_is_off_by()


def day_at(zone: str, at: datetime) -> date:
    """Return the calendar day it is in ``zone`` at the moment ``at``."""
    return at.astimezone(ZoneInfo(zone)).date()


def noon_of(day: date, zone: str) -> datetime:
    """Return noon of ``day`` in ``zone``, as UTC: what a date without a time stands for."""
    return datetime.combine(day, time(12), ZoneInfo(zone)).astimezone(UTC)


def moment_of(day: date, hour: int, zone: str) -> datetime:
    """Return the first moment at or after ``hour`` o'clock of ``day`` in ``zone``, as UTC.

    An hour that the clock skips becomes the first later instant; one that comes
    twice is its first coming. Going through UTC settles both.
    """
    return datetime.combine(day, time(hour), ZoneInfo(zone)).astimezone(UTC)


def end_of(day: date, zone: str) -> datetime:
    """Return the last microsecond of ``day`` in ``zone``, as UTC."""
    return datetime.combine(day, time.max, ZoneInfo(zone)).astimezone(UTC)


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
