"""A meter's readings on the site's calendar, and when they reach a figure. Pure.

Life is in hours or in true metres, Decimal. Readings stand in order of time, and among
those that are not estimated life never falls.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import cached_property
from itertools import pairwise
from operator import attrgetter
from typing import NamedTuple

from fleet.usage import (
    RATE_WINDOW_DAYS,
    UNBOUNDED,
    LifePoint,
    Rate,
    recent_points,
    use_rate,
)

RATE_WINDOW = timedelta(days=RATE_WINDOW_DAYS)
AVERAGE_RANGE = Decimal(2)  # half to double a class average; judgement, no source
moment, life_of = attrgetter("point.at"), attrgetter("point.life")


class Seen(NamedTuple):
    """A meter reading in life units and the site's day on which it was taken."""

    day: date
    point: LifePoint


@dataclass(frozen=True)
class Gauge:
    """One meter's readings; ``average_per_day`` stands in where they give no rate.

    No rate is above ``most_per_day``.
    """

    seen: tuple[Seen, ...] = ()
    average_per_day: Decimal | None = None
    most_per_day: Decimal = UNBOUNDED

    @cached_property
    def true(self) -> tuple[Seen, ...]:
        return tuple(seen for seen in self.seen if not seen.point.estimated)

    @cached_property
    def own_rate(self) -> Rate | None:
        """The rate that its readings give."""
        return use_rate(self._recent, most_per_day=self.most_per_day)

    @property
    def has_own_rate(self) -> bool:
        return bool(self._recent)

    @cached_property
    def _recent(self) -> Sequence[LifePoint]:
        # a rate looks back over few of many years' readings
        opens = self.seen[-1].point.at - RATE_WINDOW if self.seen else None
        late = self.seen[bisect_left(self.seen, opens, key=moment) :] if opens else ()
        return recent_points([seen.point for seen in late])

    @cached_property
    def rate(self) -> Rate | None:
        """The rate from the readings, else the class average, marked estimated."""
        average = self.average_per_day
        if self.has_own_rate or average is None:
            return self.own_rate
        figures = (average, average / AVERAGE_RANGE, average * AVERAGE_RANGE)
        return Rate(*(min(each, self.most_per_day) for each in figures), 0, True)

    def until(self, at: datetime) -> "Gauge":
        """Return the gauge as it was known by a moment."""
        place = bisect_right(self.seen, at, key=moment)
        cut = replace(self, seen=self.seen[:place])
        # not gone through anew for each moment: what was true by then
        vars(cut)["true"] = self.true[: bisect_right(self.true, at, key=moment)]
        return cut

    def life_by(self, at: datetime) -> Decimal | None:
        """Return the life last read by a moment, else the first truly read after it."""
        place = bisect_right(self.seen, at, key=moment)
        if place:
            return self.seen[place - 1].point.life
        return self.true[0].point.life if self.true else None

    def first_at(self, life: Decimal, *, since: datetime) -> Seen | None:
        """Return the first true reading from ``since`` on at or above ``life``."""
        if not self.true or self.true[-1].point.life < life:
            return None
        return self._true_from(bisect_left(self.true, life, key=life_of), since)

    def first_past(self, life: Decimal, *, since: datetime) -> Seen | None:
        """Return the first true reading from ``since`` on above ``life``."""
        if not self.true or self.true[-1].point.life <= life:
            return None
        return self._true_from(bisect_right(self.true, life, key=life_of), since)

    def estimate_at(self, life: Decimal, *, since: datetime) -> Seen | None:
        """Return the first estimate at or above ``life`` that no true reading follows."""
        if not self.seen or not self.seen[-1].point.estimated:
            return None
        place = bisect_left(self.seen, since, key=moment)
        if self.true:
            place = max(place, bisect_right(self.seen, moment(self.true[-1]), key=moment))
        return next((seen for seen in self.seen[place:] if seen.point.life >= life), None)

    def last_since(self, at: datetime) -> Seen | None:
        """Return the last reading, if it was taken at the moment or after it."""
        return self.seen[-1] if self.seen and self.seen[-1].point.at >= at else None

    def _true_from(self, place: int, since: datetime) -> Seen | None:
        place = max(place, bisect_left(self.true, since, key=moment))
        return self.true[place] if place < len(self.true) else None


def in_order(seen: Sequence[Seen]) -> tuple[Seen, ...]:
    """Return readings by time; those of one moment by life, estimates first."""
    if all(one.point.at < other.point.at for one, other in pairwise(seen)):
        return tuple(seen)
    return tuple(
        sorted(seen, key=lambda one: (one.point.at, not one.point.estimated, one.point.life))
    )
