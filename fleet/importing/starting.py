"""The first days of old lifts, spread over what a shop's mechanics can do. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

SHORT_CHECK, BASELINE = "short-check", "baseline"
WITHIN_DAYS: Mapping[str, int] = {SHORT_CHECK: 14, BASELINE: 90}
ONE_DAY = timedelta(days=1)


def open_days(
    start: date, within: int, working_days: str, closures: Iterable[Sequence[str]]
) -> list[date]:
    """Return the days on which the shop works, of the ``within`` days after ``start``.

    ``working_days`` are ISO weekdays, such as "12345"; ``closures`` are pairs of first and
    last day as ISO text. A shop that never opens in that time is taken to open every day.
    """
    closed = [(date.fromisoformat(first), date.fromisoformat(last)) for first, last in closures]
    every = [start + ONE_DAY * count for count in range(1, within + 1)]
    worked = [
        day
        for day in every
        if str(day.isoweekday()) in working_days
        and not any(first <= day <= last for first, last in closed)
    ]
    return worked or every


def spread(
    count: int, minutes: int, days: Sequence[date], minutes_a_day: int, taken: dict[date, int]
) -> list[date]:
    """Return the day of each of ``count`` pieces of work of ``minutes``, first one first.

    Each goes on the first day with room in ``minutes_a_day``; ``taken`` are the minutes that
    each day has given away already, and gets these added. What does not fit goes, one after
    another, to the day with the least work, so that all have a day.

    Raises ValueError without days.
    """
    if not days:
        raise ValueError("no day to spread the work over")
    planned = []
    for _piece in range(count):
        room = (day for day in days if taken.get(day, 0) + minutes <= minutes_a_day)
        day = next(room, None) or min(days, key=lambda one: (taken.get(one, 0), one))
        taken[day] = taken.get(day, 0) + minutes
        planned.append(day)
    return planned
