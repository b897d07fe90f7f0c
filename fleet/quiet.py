"""Hours of a person's clock in which nothing is mailed at once. No writes, no look at the clock."""

from datetime import datetime, timedelta

from shared.clock import day_at, moment_of


def quiet_until(at: datetime, zone: str, from_hour: int, until_hour: int) -> datetime | None:
    """Return the moment at which the quiet hours end that ``at`` lies in, None outside them.

    Hours 0 to 23 of the clock in ``zone``; until an hour at or before the first is that of the
    next day, and the same hour is no quiet at all. Each begins and ends where ``moment_of``
    has the hour: an hour that is skipped at the next instant, one that comes twice at its first.
    """
    if from_hour == until_hour:
        return None
    today = day_at(zone, at)
    nights = 1 if until_hour < from_hour else 0
    for begins in (today - timedelta(days=1), today):
        end = moment_of(begins + timedelta(days=nights), until_hour, zone)
        if moment_of(begins, from_hour, zone) <= at < end:
            return end
    return None
