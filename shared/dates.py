"""Days and moments as a site writes them. Pure."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

DAY_FORMATS = {"ymd": "%Y-%m-%d", "mdy": "%m/%d/%Y", "dmy": "%d/%m/%Y"}


def shown_day(day: date, order: str) -> str:
    """Return the day in the site's order of year, month and day: "03/02/2026"."""
    if order not in DAY_FORMATS:
        raise ValueError(f"order must be one of {', '.join(DAY_FORMATS)}, not {order!r}")
    return day.strftime(DAY_FORMATS[order])


def shown_moment(at: datetime, zone: str, order: str) -> str:
    """Return an aware moment as the site's clock showed it: "03/02/2026 08:00".

    Raises ValueError for a moment without a zone.
    """
    if at.tzinfo is None:
        raise ValueError(f"a moment needs a zone, not {at}")
    local = at.astimezone(ZoneInfo(zone))
    return f"{shown_day(local.date(), order)} {local:%H:%M}"
