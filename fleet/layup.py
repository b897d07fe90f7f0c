"""Days on which a cart rests: they hold calendar limits and forecasts back. Pure.

Days are days of the cart's site. A lay-up holds from the day it begins up to, and not
with, the day of waking.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

LONGEST_PAUSE_DAYS = 240  # common practice, no source
VOID_HOURS = Decimal("1")  # common practice, no source
VOID_METRES = Decimal("4828.032")  # 3 mi; common practice, no source


@dataclass(frozen=True)
class LayUp:
    """A cart is laid up; ``until_day`` is the day of waking, None while it rests."""

    from_day: date
    until_day: date | None = None

    def __post_init__(self):
        if self.until_day is not None and self.until_day < self.from_day:
            raise ValueError(f"the lay-up of {self.from_day} ends before it, {self.until_day}")


@dataclass(frozen=True)
class LayUpLimits:
    """How long a lay-up pauses calendars, and the use that makes it void."""

    longest_days: int = LONGEST_PAUSE_DAYS
    void_hours: Decimal = VOID_HOURS
    void_metres: Decimal = VOID_METRES
