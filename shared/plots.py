"""Drawings as SVG text, readable in black and white. Pure: standard library, no Django.

The words come from the caller, so that they can be translated. Colours are the page's
ink (``currentColor``); states differ by pattern, not by colour. One unit of the view
box is meant to be 1 to 1.4 CSS pixels wide.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from xml.sax.saxutils import escape

STATES = ("late", "due", "open", "ahead")
WIDTH = 360
TEXT_SIZE = 12
PAPER = "#fff"


@dataclass(frozen=True)
class Words:
    """What is said of a drawing: ``title`` names it, ``told`` tells it to who cannot see it."""

    title: str
    told: str


@dataclass(frozen=True)
class Forecast:
    """The reading expected on a day, with the range it lies in (same unit as the readings)."""

    on: date
    low: float
    likely: float
    high: float


@dataclass(frozen=True)
class Limit:
    """A reading at which work falls due, and the work's name."""

    name: str
    at: float


@dataclass(frozen=True)
class Week:
    """How many rechecks of each state fall in the week; a state left out counts 0."""

    name: str
    counts: Mapping[str, int]

    @property
    def total(self) -> int:
        return sum(self.counts.values())


@dataclass(frozen=True)
class Frame:
    """Maps days and readings into the view box; y grows downward."""

    first: date
    last: date
    low: float
    high: float
    left: float = 44
    right: float = 350
    top: float = 14
    bottom: float = 186

    def x(self, day: date) -> float:
        share = (day - self.first).days / (self.last - self.first).days
        return self.left + share * (self.right - self.left)

    def y(self, reading: float) -> float:
        share = (reading - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - self.top)


def use_plot(
    readings: Sequence[tuple[date, float]],
    *,
    words: Words,
    unit: str,
    forecast: Sequence[Forecast] = (),
    limits: Sequence[Limit] = (),
    today: date | None = None,
    key: str = "use",
) -> str:
    """Return a line of meter readings over days, going on as a hatched forecast band.

    ``readings`` are (day, life reading) in ``unit``, at least one, by day; ``forecast``
    begins where the readings end; ``limits`` are drawn as named level lines, ``today``
    as an upright one. ``key`` makes the ids of the drawing unique on its page.

    Raises ValueError for no reading, days out of order, or a figure that is not finite.
    """
    _check_use(readings, forecast, limits)
    frame = _frame(readings, forecast, limits, today)
    parts = [
        _pattern(f"{key}-band", "late" if False else "due"),
        *_axes(frame, unit),
        *_band(frame, readings[-1], forecast, key),
        *_limits(frame, limits),
        *_today(frame, today),
        _polyline(frame, readings, 2),
        *[_dot(frame, day, reading) for day, reading in readings],
    ]
    return _svg(parts, words=words, key=key, height=216)


def work_by_week(weeks: Sequence[Week], *, words: Words, names: Mapping[str, str], key: str) -> str:
    """Return one bar a week, stacked late, due, open, ahead, beside the counts in figures.

    ``names`` gives the printed word of each state; the heads of the columns are the key.
    All bars share one scale: the fullest week fills the width. ``key`` makes the ids of
    the drawing unique on its page.

    Raises ValueError for an unknown state, a state without its word, or a negative count.
    """
    _check_weeks(weeks, names)
    fullest = max((week.total for week in weeks), default=0)
    parts = [_pattern(f"{key}-{state}", state) for state in STATES]
    parts += _week_head(names, key)
    for place, week in enumerate(weeks):
        parts += _week_row(week, WEEK_TOP + place * WEEK_ROW, fullest, key)
    return _svg(parts, words=words, key=key, height=WEEK_TOP + len(weeks) * WEEK_ROW + 6)
