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

    They are spread evenly, the last one on the last day: nothing is due sooner than the shop's
    minutes call for. One that finds no room in ``minutes_a_day`` goes to the nearest day that
    has some, else to the day with the least work, so that all have a day. ``taken`` are the
    minutes that each day has given away already, and gets these added.

    Raises ValueError without days.
    """
    if not days:
        raise ValueError("no day to spread the work over")
    planned = []
    for piece in range(1, count + 1):
        wanted = -(-piece * len(days) // count) - 1
        day = days[_nearest(days, wanted, minutes, minutes_a_day, taken)]
        taken[day] = taken.get(day, 0) + minutes
        planned.append(day)
    return sorted(planned)


def _nearest(days, wanted, minutes, minutes_a_day, taken) -> int:
    """Return the place of the day nearest to the wanted one that has room, the earlier first."""

    def is_full_then_far(place):
        load = taken.get(days[place], 0)
        is_full = load + minutes > minutes_a_day
        return is_full, load if is_full else 0, abs(place - wanted), place

    return min(range(len(days)), key=is_full_then_far)
