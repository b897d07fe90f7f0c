"""When a zone's clock came to an hour of a day, told from its moves alone, walked in UTC.

From UTC to a wall clock there is one answer each time; what is looked for the other way
round, with hours that are left out or come twice, is worked out here in whole seconds.
"""

import calendar
from bisect import bisect_right
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

DAY_S = 86_400
# no zone moved twice within it (IANA tz database)
STEP_S = 6 * 3600
# further than any wall clock is from UTC, and than any move
MARGIN_S = 2 * DAY_S


@dataclass(frozen=True)
class Stretch:
    """The wall clock is ``ahead_s`` of UTC from one second since 1970 to before another."""

    begin_s: int
    end_s: int
    ahead_s: int


def stretches(name: str, first: date, last: date) -> list[Stretch]:
    """Return the stretches of a zone between two days, with a margin around them."""
    zone = ZoneInfo(name)
    begin_s, end_s = utc_s(first) - MARGIN_S, utc_s(last) + DAY_S + MARGIN_S
    marks = [begin_s]
    steps = range(begin_s, end_s + STEP_S, STEP_S)
    for (early, before), (late, after) in pairwise((at_s, ahead_s(zone, at_s)) for at_s in steps):
        if before != after:
            marks.append(_move(zone, early, late))
    marks.append(end_s)
    return [Stretch(one, two, ahead_s(zone, one)) for one, two in pairwise(marks)]


def _move(zone, early, late):
    """Return the first second of the later of two offsets."""
    before = ahead_s(zone, early)
    while late - early > 1:
        middle = (early + late) // 2
        if ahead_s(zone, middle) == before:
            early = middle
        else:
            late = middle
    return late


def ahead_s(zone, at_s):
    return int(datetime.fromtimestamp(at_s, zone).utcoffset().total_seconds())


def utc_s(day: date) -> int:
    return calendar.timegm(day.timetuple())


class LocalDays:
    """The days of one zone, as its stretches make them."""

    def __init__(self, name: str, first: date, last: date):
        self.name, self.first, self.last = name, first, last
        self.stretches = stretches(name, first, last)
        self.begins = [one.begin_s for one in self.stretches]

    @property
    def days(self) -> list[date]:
        return [self.first + timedelta(days=n) for n in range((self.last - self.first).days + 1)]

    @property
    def moves(self) -> list[datetime]:
        return [datetime.fromtimestamp(begin_s, UTC) for begin_s in self.begins[1:]]

    def first_at(self, day: date, hour: int) -> datetime | None:
        """Return the first moment of a day at or after an hour of it, None if it has none."""
        from_s, until_s = utc_s(day) + hour * 3600, utc_s(day) + DAY_S
        for one in self._around(day):
            begin_s = max(one.begin_s, from_s - one.ahead_s)
            if begin_s < min(one.end_s, until_s - one.ahead_s):
                return datetime.fromtimestamp(begin_s, UTC)
        return None

    def last_second_of(self, day: date) -> datetime | None:
        for one in reversed(self._around(day)):
            end_s = min(one.end_s, utc_s(day) + DAY_S - one.ahead_s) - 1
            if end_s >= max(one.begin_s, utc_s(day) - one.ahead_s):
                return datetime.fromtimestamp(end_s, UTC)
        return None

    def wall_at(self, at: datetime) -> datetime:
        """Return what the wall clock shows at a moment."""
        at_s = int(at.timestamp())
        one = self.stretches[bisect_right(self.begins, at_s) - 1]
        return datetime.fromtimestamp(at_s + one.ahead_s, UTC).replace(tzinfo=None)

    def is_near_a_move(self, day: date) -> bool:
        return len(self._around(day)) > 1

    def _around(self, day):
        early = bisect_right(self.begins, utc_s(day) - DAY_S) - 1
        late = bisect_right(self.begins, utc_s(day) + 2 * DAY_S)
        return self.stretches[early:late]
