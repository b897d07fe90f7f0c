"""From limits, a start and a cart's use to the days on which work opens and falls due. Pure.

Hours are life hours, distances true metres, both Decimal and both counted over the
cart's whole life. Days are days of the site. A moment is an aware datetime.
"""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from fleet.layup import LONGEST_PAUSE_DAYS, LayUp
from fleet.usage import LifePoint, Rate

AHEAD, OPEN, DUE, LATE, STOPPED = "ahead", "open", "due", "late", "stopped"
DAYS, HOURS, DISTANCE = "days", "hours", "distance"


@dataclass(frozen=True)
class Limits:
    """Days, life hours and true metres, whichever is reached first; None is no limit."""

    days: int | None = None
    hours: Decimal | None = None
    metres: Decimal | None = None

    def __post_init__(self):
        for name in ("days", "hours", "metres"):
            value = getattr(self, name)
            if value is not None and value < 0:
                raise ValueError(f"{name} must not be below zero, not {value}")

    def __bool__(self):
        return any(part is not None for part in (self.days, self.hours, self.metres))


@dataclass(frozen=True)
class Terms:
    """What one recheck is held to; every limit counts from its anchor.

    ``opens`` None: at 80 % of the limit or 14 days before due, whichever is earlier.
    ``leeway`` counts from the limit; a part left out is no leeway. ``stop`` counts from
    the anchor. ``stop_needs`` is the use without which no calendar stops the cart.
    ``settles``: the work waits until the use of ``opens`` is on the cart.
    ``fixed``: a lay-up does not move its calendar.
    """

    limit: Limits
    opens: Limits | None = None
    leeway: Limits = Limits()
    stop: Limits = Limits()
    stop_needs: Limits = Limits()
    settles: bool = False
    fixed: bool = False


@dataclass(frozen=True)
class Anchor:
    """Where a clock starts, and the life hours and metres then, where known."""

    at: datetime
    day: date
    hours: Decimal | None = None
    metres: Decimal | None = None


@dataclass(frozen=True)
class Seen:
    """A meter reading in life units and the site's day on which it was taken."""

    day: date
    point: LifePoint


@dataclass(frozen=True)
class Gauge:
    """One meter's readings in order of time, and the rate that carries them on."""

    seen: tuple[Seen, ...] = ()
    rate: Rate | None = None


@dataclass(frozen=True)
class Use:
    """All that is known of a cart's running: both gauges and its lay-ups."""

    hours: Gauge = Gauge()
    metres: Gauge = Gauge()
    lay_ups: tuple[LayUp, ...] = ()
    longest_pause_days: int = LONGEST_PAUSE_DAYS


@dataclass(frozen=True)
class Dates:
    """The days of one recheck; None where nothing known leads to such a day.

    ``governs`` is "days", "hours" or "distance". ``due_hours`` and ``due_metres`` are
    the life readings at which it falls due, ``calendar_due_on`` the day by calendar
    alone. ``forecast``: no reading and no calendar has reached ``due_on`` yet.
    ``estimated``: it rests on an estimated reading or a class average.
    ``opens_forecast``: the same of ``opens_on``, where the work settles in use.
    ``earliest`` and ``latest`` hold ``due_on`` between them, from the rate's range.
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
    opens_forecast: bool = False
    earliest: date | None = None
    latest: date | None = None


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
