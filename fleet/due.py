"""From limits, a start and a cart's use to the days on which work opens and falls due. Pure.

Hours are life hours, distances true metres, both Decimal and both counted over the
cart's whole life. Days are days of the site; moments are aware and in UTC. Nothing
here asks for today: the same facts give the same days.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple

from fleet.gauge import Seen
from fleet.layup import awake_from
from fleet.reach import (
    DAYS,
    DISTANCE,
    HOURS,
    NO_LIMITS,
    Anchor,
    Limits,
    Reach,
    Running,
    Use,
    first,
    soonest,
    sure,
)

AHEAD, OPEN, DUE, LATE, STOPPED = "ahead", "open", "due", "late", "stopped"

OPENS_SHARE_TENTHS = 8  # 80 % of a limit; common practice, no source
OPENS_BEFORE_DUE = timedelta(days=14)  # common practice, no source


@dataclass(frozen=True)
class Terms:
    """What one recheck is held to.

    ``opens`` None: at 80 % of the limit or 14 days before due, whichever is earlier.
    ``leeway`` counts from the limit, and a part left out is no leeway; the other limits
    count from the anchor. ``stop_needs`` is the use without which no calendar stops the
    cart. ``settles``: the work waits until the use of ``opens`` is on the cart.
    ``fixed``: a lay-up does not move its calendar.
    """

    limit: Limits
    opens: Limits | None = None
    leeway: Limits = NO_LIMITS
    stop: Limits = NO_LIMITS
    stop_needs: Limits = NO_LIMITS
    settles: bool = False
    fixed: bool = False

    @cached_property
    def open_by(self) -> Limits:
        """What opens the work, by any of it."""
        return self.opens or _share(self.limit)

    @cached_property
    def allowed(self) -> Limits:
        """The limit and its leeway: late is what lies beyond."""
        return self.limit.plus(self.leeway)


class Dates(NamedTuple):
    """The days of one recheck; None where nothing known leads to such a day.

    ``governs`` is "days", "hours" or "distance". ``due_hours`` and ``due_metres`` are
    the life readings at which it falls due, ``calendar_due_on`` the day by calendar
    alone. ``forecast``: no reading and no calendar has settled ``due_on`` yet.
    ``estimated``: it rests on an estimated reading or a class average.
    ``earliest`` and ``latest`` hold ``due_on`` between them, from the rate's range;
    ``latest`` None is no end.
    """

    opens_on: date | None
    due_on: date | None
    late_on: date | None = None
    stops_on: date | None = None
    governs: str = ""
    due_hours: Decimal | None = None
    due_metres: Decimal | None = None
    calendar_due_on: date | None = None
    forecast: bool = False
    estimated: bool = False
    earliest: date | None = None
    latest: date | None = None


def dates_of(terms: Terms, anchor: Anchor, use: Use) -> Dates:
    """Return the days on which a recheck opens, falls due, goes late and stops the cart.

    Due is the first day on which any limit is reached (reading >= limit, or the calendar
    day), late the first on which a true reading lies beyond limit and leeway or the
    calendar has passed both, stopped the first on which the stop is reached. Forecasts
    and estimated readings move ``opens_on`` and ``due_on`` alone. Nothing goes late or
    stopped at rest: it waits for the day of waking.

    Work that settles in use and has not the use of ``opens`` by its calendar day waits
    for it; the calendar's leeway and stop then count on from that day.
    """
    clock = Running(anchor, use, terms.fixed)
    calendar = clock.calendar(terms.limit)
    ways = _ways_to_due(terms, clock, calendar)
    due = soonest(ways)
    read = anchor.hours is not None or anchor.metres is not None
    meters = clock.meters(terms.limit) if read else ()
    life = {meter.governs: figure for meter, figure in meters}
    return Dates(
        opens_on=_opens_on(terms, clock, due),
        due_on=due and due.day,
        late_on=_late_on(terms, clock, calendar),
        stops_on=_stops_on(terms, clock),
        governs=due.governs if due else "",
        due_hours=life.get(HOURS),
        due_metres=life.get(DISTANCE),
        calendar_due_on=calendar,
        forecast=bool(due and due.forecast),
        estimated=bool(due and due.estimated),
        earliest=_first([way.earliest for way in ways]),
        latest=_first([way.latest for way in ways]),
    )


def _first(days: Iterable[date | None]) -> date | None:
    return min(filter(None, days), default=None)


def _earlier(day: date | None, other: date | None) -> date | None:
    """Return the earlier of two days, or the one that there is."""
    if day is None or other is None:
        return day or other
    return other if other < day else day


def _ways_to_due(terms: Terms, clock: Running, calendar: date | None) -> list[Reach]:
    ways = clock.reaches(terms.limit)
    if calendar is None:
        return ways
    if not terms.settles:
        return [sure(calendar, DAYS), *ways]
    opened = soonest(clock.reaches(terms.opens or NO_LIMITS))
    return [opened.not_before(calendar), *ways] if opened else ways


def _opens_on(terms: Terms, clock: Running, due: Reach | None) -> date | None:
    soon = _earlier(clock.calendar(terms.open_by), clock.day_of(terms.open_by))
    if terms.opens is None and due:
        soon = _earlier(soon, due.day - OPENS_BEFORE_DUE)
    if soon is None:
        return due and due.day
    opens_on = max(soon, clock.anchor.day)
    return min(opens_on, due.day) if due else opens_on


def _share(limit: Limits) -> Limits:
    """Return 80 % of a limit, days rounded down."""
    return Limits(
        None if limit.days is None else limit.days * OPENS_SHARE_TENTHS // 10,
        limit.hours and limit.hours * OPENS_SHARE_TENTHS / 10,
        limit.metres and limit.metres * OPENS_SHARE_TENTHS / 10,
    )


def _calendar_base(terms: Terms, clock: Running, calendar: date | None) -> date | None:
    """Return the day from which calendar leeway counts: due, or settled enough after it."""
    if calendar is None or not terms.settles:
        return calendar
    settled = clock.read(terms.opens or NO_LIMITS)
    return max(calendar, settled.day) if settled else None


def _late_on(terms: Terms, clock: Running, calendar: date | None) -> date | None:
    base = _calendar_base(terms, clock, calendar)
    passed = clock.read_past(terms.allowed)
    late = base and clock.after(base, (terms.leeway.days or 0) + 1)
    return _first_awake(late, passed and passed.day, clock)


def _stops_on(terms: Terms, clock: Running) -> date | None:
    reached = clock.read(terms.stop)
    return _first_awake(_calendar_stop(terms, clock), reached and reached.day, clock)


def _calendar_stop(terms: Terms, clock: Running) -> date | None:
    if terms.stop.days is None:
        return None
    stop = clock.calendar(terms.stop)
    if terms.settles and terms.limit.days is not None:
        base = _calendar_base(terms, clock, clock.calendar(terms.limit))
        stop = base and clock.after(base, max(0, terms.stop.days - terms.limit.days))
    if not terms.stop_needs or stop is None:
        return stop
    used = clock.read(terms.stop_needs)
    return max(stop, used.day) if used else None


def _first_awake(day: date | None, other: date | None, clock: Running) -> date | None:
    rests = clock.use.lay_ups
    if rests:
        day, other = day and awake_from(day, rests), other and awake_from(other, rests)
    return _earlier(day, other)


def settled(terms: Terms, anchor: Anchor, use: Use) -> Seen | None:
    """Return the first reading, estimates after the last true one too, with the use to open."""
    clock = Running(anchor, use, terms.fixed)
    opens = terms.opens or NO_LIMITS
    since = anchor.at
    return clock.read(opens) or first(
        meter.gauge.estimate_at(life, since=since) for meter, life in clock.meters(opens)
    )


def state_on(dates: Dates, today: date) -> str:
    """Return ahead, open, due, late or stopped: what the recheck is on a day of its site."""
    for state, day in (
        (STOPPED, dates.stops_on),
        (LATE, dates.late_on),
        (DUE, dates.due_on),
        (OPEN, dates.opens_on),
    ):
        if day is not None and day <= today:
            return state
    return AHEAD
