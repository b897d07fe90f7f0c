"""When a cart's calendar and meters reach a limit, and how sure that is. Pure.

Hours are life hours, distances true metres, both Decimal and both counted over the
cart's whole life. Days are days of the site; moments are aware and in UTC.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple

from fleet.gauge import Gauge, Seen
from fleet.layup import LayUp, after_running_days
from fleet.usage import days_until

DAYS, HOURS, DISTANCE = "days", "hours", "distance"
PLACES = {DAYS: 0, HOURS: 1, DISTANCE: 2}


@dataclass(frozen=True)
class Limits:
    """Days, life hours and true metres, whichever is reached first; None is no limit."""

    days: int | None = None
    hours: Decimal | None = None
    metres: Decimal | None = None

    def __post_init__(self):
        named = (("days", self.days), ("hours", self.hours), ("metres", self.metres))
        for name, value in named:
            if value is not None and value < 0:
                raise ValueError(f"{name} must not be below zero, not {value}")

    def __bool__(self):
        return not (self.days is None and self.hours is None and self.metres is None)

    def plus(self, more: "Limits") -> "Limits":
        """Return these limits moved on; a part that ``more`` leaves out stays."""
        return Limits(
            *(
                None if own is None else own + (further or 0)
                for own, further in (
                    (self.days, more.days),
                    (self.hours, more.hours),
                    (self.metres, more.metres),
                )
            )
        )


NO_LIMITS = Limits()
AT_ONCE = Limits(days=0)


class Anchor(NamedTuple):
    """Where a clock starts, and the life hours and metres then, where known."""

    at: datetime
    day: date
    hours: Decimal | None = None
    metres: Decimal | None = None


NO_GAUGE = Gauge()


@dataclass(frozen=True)
class Use:
    """All that is known of a cart's running: both gauges and its lay-ups."""

    hours: Gauge = NO_GAUGE
    metres: Gauge = NO_GAUGE
    lay_ups: tuple[LayUp, ...] = ()

    def anchor(self, at: datetime, day: date) -> Anchor:
        return Anchor(at, day, self.hours.life_by(at), self.metres.life_by(at))


class Reach(NamedTuple):
    """The day on which a limit is reached, by what, and how sure that is."""

    day: date
    governs: str
    forecast: bool = False
    estimated: bool = False
    earliest: date | None = None
    latest: date | None = None

    def not_before(self, day: date) -> "Reach":
        """Return the later of this and a calendar day, as sure as this is."""
        return Reach(
            max(self.day, day),
            self.governs if self.day > day else DAYS,
            self.forecast,
            self.estimated,
            self.earliest and max(self.earliest, day),
            self.latest and max(self.latest, day),
        )


class Meter(NamedTuple):
    governs: str
    start: Decimal
    gauge: Gauge


@dataclass(frozen=True)
class Running:
    """A running clock: the anchor and the use since."""

    anchor: Anchor
    use: Use
    fixed: bool

    def after(self, day: date, days: int) -> date:
        lay_ups = () if self.fixed else self.use.lay_ups
        return after_running_days(day, days, lay_ups)

    def calendar(self, limits: Limits) -> date | None:
        return None if limits.days is None else self.after(self.anchor.day, limits.days)

    def meters(self, limits: Limits) -> list[tuple[Meter, Decimal]]:
        """Return the meters that a limit names and the life at which each reaches it."""
        if limits.hours is None and limits.metres is None:
            return []
        return [
            (meter, meter.start + limit)
            for meter, limit in zip(self._meters, (limits.hours, limits.metres), strict=True)
            if meter is not None and limit is not None
        ]

    @cached_property
    def _meters(self) -> tuple[Meter | None, Meter | None]:
        """Return both meters; one that was never read counts only if neither was."""
        hours, metres = self.anchor.hours, self.anchor.metres
        if hours is None and metres is None:
            hours = metres = Decimal(0)
        return (
            None if hours is None else Meter(HOURS, hours, self.use.hours),
            None if metres is None else Meter(DISTANCE, metres, self.use.metres),
        )

    def read(self, limits: Limits) -> Seen | None:
        """Return the first true reading at which a limit was reached."""
        since = self.anchor.at
        return first(m.gauge.first_at(life, since=since) for m, life in self.meters(limits))

    def read_past(self, limits: Limits) -> Seen | None:
        """Return the first true reading beyond a limit."""
        since = self.anchor.at
        return first(m.gauge.first_past(life, since=since) for m, life in self.meters(limits))

    def reaches(self, limits: Limits) -> list[Reach]:
        """Return how each meter reaches its limit, where it can be told.

        A meter's own rate carries it on. The class average does so only where no meter
        has a rate of its own, and only the meter that was read last.
        """
        meters = self.meters(limits)
        if not meters:
            return []
        carried = self._carried(meter for meter, _ in meters)
        found = [
            self._read_reach(meter, life) or (meter in carried and self._forecast(meter, life))
            for meter, life in meters
        ]
        return [reach for reach in found if reach]

    def _carried(self, meters: Iterable[Meter]) -> list[Meter]:
        meters = list(meters)
        known = [meter for meter in meters if meter.gauge.has_own_rate]
        last = max((self._last_at(meter) for meter in meters), default=None)
        return known or [meter for meter in meters if self._last_at(meter) == last]

    def _last_at(self, meter: Meter) -> datetime:
        last = meter.gauge.last_since(self.anchor.at)
        return last.point.at if last else self.anchor.at

    def _read_reach(self, meter: Meter, life: Decimal) -> Reach | None:
        since = self.anchor.at
        seen = meter.gauge.first_at(life, since=since)
        if seen is not None:
            return sure(seen.day, meter.governs)
        seen = meter.gauge.estimate_at(life, since=since)
        if seen is not None:
            return Reach(seen.day, meter.governs, False, True, seen.day, seen.day)
        return None

    def _forecast(self, meter: Meter, life: Decimal) -> Reach | None:
        rate = meter.gauge.rate
        if rate is None or rate.per_day <= 0:
            return None
        last = meter.gauge.last_since(self.anchor.at)
        day = last.day if last else self.anchor.day
        remaining = life - (last.point.life if last else meter.start)

        def used_up(per_day: Decimal) -> date | None:
            return self.after(day, days_until(remaining, per_day)) if per_day > 0 else None

        return Reach(
            used_up(rate.per_day),
            meter.governs,
            True,
            rate.estimated,
            used_up(rate.high),
            used_up(rate.low),
        )


def sure(day: date, governs: str) -> Reach:
    return Reach(day, governs, earliest=day, latest=day)


def first(seen: Iterable[Seen | None]) -> Seen | None:
    return min((one for one in seen if one), key=lambda one: one.point.at, default=None)


def soonest(reaches: Iterable[Reach]) -> Reach | None:
    """Return the earliest; of one day the surest, then days, hours, distance."""
    return min(reaches, key=_soonness, default=None)


def _soonness(reach: Reach) -> tuple[date, bool, bool, int]:
    return (reach.day, reach.forecast, reach.estimated, PLACES[reach.governs])
