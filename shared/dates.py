"""Days and moments as a site writes them. Pure."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

DAY_FORMATS = {"ymd": "%Y-%m-%d", "mdy": "%m/%d/%Y", "dmy": "%d/%m/%Y"}


def shown_day(day: date, order: str) -> str:
    """Return the day in the site's order of year, month and day: "03/02/2026"."""
    if order not in DAY_FORMATS:
        raise ValueError(f"order must be one of {', '.join(DAY_FORMATS)}, not {order!r}")
    return day.strftime(DAY_FORMATS[order])


def shown_moment(at: datetime, zone: str, order: str) -> str:
    """Return an aware moment as the site's clock showed it: "03/02/2026 08:00".

    In the hour that comes twice the offset tells which: "11/01/2026 01:30 (UTC-05:00)".
    Raises ValueError for a moment without a zone.
    """
    return _shown(at, zone, order, "%H:%M")


def shown_second(at: datetime, zone: str, order: str) -> str:
    """Return an aware moment as shown_moment does, with its seconds if it has any."""
    is_whole = not (at.second or at.microsecond)
    return _shown(at, zone, order, "%H:%M" if is_whole else "%H:%M:%S")


def _shown(at, zone, order, clock):
    if at.tzinfo is None:
        raise ValueError(f"a moment needs a zone, not {at}")
    local = at.astimezone(ZoneInfo(zone))
    text = f"{shown_day(local.date(), order)} {local:{clock}}"
    return f"{text} ({offset_of(local)})" if comes_twice(local, zone) else text


def offset_of(local: datetime) -> str:
    """Return the offset of an aware local time: "UTC-05:00"."""
    digits = f"{local:%z}"
    return f"UTC{digits[:3]}:{digits[3:5]}"


def comes_twice(local: datetime, zone: str) -> bool:
    """Whether the clocks of the zone show this local time twice, as when they go back."""
    early, late = (local.replace(tzinfo=ZoneInfo(zone), fold=fold) for fold in (0, 1))
    return early.utcoffset() > late.utcoffset()


def is_skipped(local: datetime, zone: str) -> bool:
    """Whether the clocks of the zone never show this local time, as when they go forward."""
    early, late = (local.replace(tzinfo=ZoneInfo(zone), fold=fold) for fold in (0, 1))
    return early.utcoffset() < late.utcoffset()


def moment_of_local(local: datetime, zone: str, *, is_second: bool = False) -> datetime:
    """Return a local time of the zone, without a zone of its own, as a moment in UTC.

    ``is_second`` chooses the second coming of a time that comes twice. Raises ValueError
    for a time that the clocks skip.
    """
    if is_skipped(local, zone):
        raise ValueError(f"the clocks of {zone} skip {local:%Y-%m-%d %H:%M}")
    return local.replace(tzinfo=ZoneInfo(zone), fold=int(is_second)).astimezone(UTC)
