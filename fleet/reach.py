"""When a cart's calendar and meters reach a limit, and how sure that is. Pure.

Hours are life hours, distances true metres, both Decimal and both counted over the
cart's whole life. Days are days of the site; moments are aware and in UTC.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import NamedTuple

from fleet.gauge import Gauge, Seen, moment
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
NO_LIFE = Decimal(0)


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


Forecast = Callable[[Meter, Decimal], Reach | None]


class Running:
    """A running clock: the anchor and the use since; a ``fixed`` one heeds no lay-up."""

    def __init__(self, anchor: Anchor, use: Use, fixed: bool):
        self.anchor, self.use = anchor, use
        self.pauses = () if fixed else use.lay_ups
        self._meters = _meters(anchor, use)

    def after(self, day: date, days: int) -> date:
        return after_running_days(day, days, self.pauses)

    def calendar(self, limits: Limits) -> date | None:
        return None if limits.days is None else self.after(self.anchor.day, limits.days)

    def meters(self, limits: Limits) -> list[tuple[Meter, Decimal]]:
        """Return the meters that a limit names and the life at which each reaches it."""
        if limits.hours is None and limits.metres is None:
            return []
        hours, metres = self._meters
        found = []
        if hours is not None and limits.hours is not None:
            found.append((hours, hours.start + limits.hours))
        if metres is not None and limits.metres is not None:
            found.append((metres, metres.start + limits.metres))
        return found

    def read(self, limits: Limits) -> Seen | None:
        """Return the first true reading at which a limit was reached."""
        since = self.anchor.at
        return first([m.gauge.first_at(life, since=since) for m, life in self.meters(limits)])

    def read_past(self, limits: Limits) -> Seen | None:
        """Return the first true reading beyond a limit."""
        since = self.anchor.at
        return first([m.gauge.first_past(life, since=since) for m, life in self.meters(limits)])

    def reaches(self, limits: Limits) -> list[Reach]:
        """Return how each meter reaches its limit, where it can be told.

        A meter's own rate carries it on. The class average does so only where no meter
        has a rate of its own, and only the meter that was read last.
        """
        return self._reaches(limits, self._forecast)

    def day_of(self, limits: Limits) -> date | None:
        """Return the first day on which any meter reaches its limit, where it can be told."""
        days = [reach.day for reach in self._reaches(limits, self._forecast_day)]
        return min(days, default=None)

    def _reaches(self, limits: Limits, forecast: Forecast) -> list[Reach]:
        meters = self.meters(limits)
        if not meters:
            return []
        carried = self._carried([meter for meter, _life in meters])
        found = [
            self._read_reach(meter, life) or (meter in carried and forecast(meter, life))
            for meter, life in meters
        ]
        return [reach for reach in found if reach]

    def _carried(self, meters: list[Meter]) -> list[Meter]:
        if len(meters) < 2:
            return meters
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
        soon = self._forecast_day(meter, life)
        if soon is None:
            return None
        rate, (day, remaining) = meter.gauge.rate, self._left_of(meter, life)
        ends = [
            self.after(day, days_until(remaining, per_day)) if per_day > 0 else None
            for per_day in (rate.high, rate.low)
        ]
        return Reach(soon.day, meter.governs, True, rate.estimated, *ends)

    def _forecast_day(self, meter: Meter, life: Decimal) -> Reach | None:
        """Return how the meter reaches its limit by its rate, without that rate's range."""
        rate = meter.gauge.rate
        if rate is None or rate.per_day <= 0:
            return None
        day, remaining = self._left_of(meter, life)
        day = self.after(day, days_until(remaining, rate.per_day))
        return Reach(day, meter.governs, True, rate.estimated)

    def _left_of(self, meter: Meter, life: Decimal) -> tuple[date, Decimal]:
        """Return the day from which a limit is still to be reached, and the life until then."""
        last = meter.gauge.last_since(self.anchor.at)
        if last is None:
            return self.anchor.day, life - meter.start
        return last.day, life - last.point.life


def _meters(anchor: Anchor, use: Use) -> tuple[Meter | None, Meter | None]:
    """Return both meters; one that was never read counts only if neither was."""
    hours, metres = anchor.hours, anchor.metres
    if hours is None and metres is None:
        hours = metres = NO_LIFE
    return (
        None if hours is None else Meter(HOURS, hours, use.hours),
        None if metres is None else Meter(DISTANCE, metres, use.metres),
    )


def sure(day: date, governs: str) -> Reach:
    return Reach(day, governs, False, False, day, day)


def first(seen: Iterable[Seen | None]) -> Seen | None:
    return min(filter(None, seen), key=moment, default=None) if seen else None


def soonest(reaches: Sequence[Reach]) -> Reach | None:
    """Return the earliest; of one day the surest, then days, hours, distance."""
    if len(reaches) < 2:
        return reaches[0] if reaches else None
    return min(reaches, key=_soonness)


def _soonness(reach: Reach) -> tuple[date, bool, bool, int]:
    return (reach.day, reach.forecast, reach.estimated, PLACES[reach.governs])
