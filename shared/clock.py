"""The one clock. Doors (views, tasks, commands) read it and pass the moment down."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

from shared import trials


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
