"""Drawings as SVG text, readable in black and white. Pure: standard library, no Django.

The words come from the caller, so that they can be translated. Ink is the page's
(``currentColor``); states differ by pattern, not by colour. One unit of the view box
is meant to be about one CSS pixel. Presentation attributes only, so a strict CSP holds.
"""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from xml.sax.saxutils import escape, quoteattr

STATES = ("late", "due", "open", "ahead")
WIDTH = 400
TEXT_SIZE = 13
PAPER = "#fff"

PLOT_HEIGHT = 224
LINE_HEIGHT = 13
DAY_TICKS = 3
READING_TICKS = 3
EMPTY_SPAN_DAYS = 7  # the days shown around a lone reading
HEADROOM = 0.06  # share of the span kept free above and below

WEEK_TOP = 40
WEEK_ROW = 25
COUNT_ENDS = {"late": 104, "due": 150, "open": 196, "ahead": 242}
BAR_FROM, BAR_WIDTH, BAR_HEIGHT = 254, 142, 16

PATTERNS = {
    "ahead": "",
    "open": '<circle cx="2" cy="2" r="0.9" fill="currentColor"/>'
    '<circle cx="5" cy="5" r="0.9" fill="currentColor"/>',
    "due": '<path d="M-1 1 1 -1M0 6 6 0M5 7 7 5" stroke="currentColor" stroke-width="1.1"/>',
    "late": '<path d="M0 3 3 0M3 6 6 3M0 3 3 6M3 0 6 3" stroke="currentColor" stroke-width="1.3"/>',
}


@dataclass(frozen=True)
class Words:
    """What is said of a drawing: ``title`` names it, ``told`` tells it to who cannot see it."""

    title: str
    told: str


@dataclass(frozen=True)
class Forecast:
    """The reading expected on a day, with its range (same unit as the readings)."""

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
    """How many rechecks of each state fall in a week; a state left out counts 0."""

    name: str
    counts: Mapping[str, int]

    @property
    def total(self) -> int:
        return sum(self.counts.values())


@dataclass(frozen=True)
class Frame:
    """Maps days and readings into the view box, where y grows downward."""

    first: date
    last: date
    low: float
    high: float
    left: float = 52
    right: float = 392
    top: float = 22
    bottom: float = 192

    def x(self, day: date) -> float:
        share = (day - self.first).days / (self.last - self.first).days
        return self.left + share * (self.right - self.left)

    def y(self, reading: float) -> float:
        share = (reading - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - self.top)

    def points(self, values: Iterable[tuple[date, float]]) -> str:
        return " ".join(f"{self.x(day):.1f},{self.y(reading):.1f}" for day, reading in values)


def use_plot(
    readings: Sequence[tuple[date, float]],
    *,
    words: Words,
    unit: str,
    forecast: Sequence[Forecast] = (),
    limits: Sequence[Limit] = (),
    today: date | None = None,
    say_day: Callable[[date], str] = date.isoformat,
    key: str = "use",
) -> str:
    """Return an SVG line of meter readings over days, going on as a hatched forecast band.

    ``readings`` are (day, reading) in ``unit``, at least one, by day; ``forecast`` goes
    on from the last of them; ``limits`` are named level lines, ``today`` an upright one
    (left out where it lies outside the days shown). ``say_day`` writes a day; ``key``
    makes the ids unique on a page.

    Raises ValueError for no reading, days out of order, or a figure that is not finite.
    """
    _check_use(readings, forecast, limits)
    frame = _frame(readings, forecast, limits)
    parts = [
        _pattern(f"{key}-band", "due"),
        *_axes(frame, unit, say_day),
        *_band(frame, readings[-1], forecast, key),
        *_upright(frame, today),
        *_limits(frame, limits),
        _line(frame.points(readings), "2"),
        *[_dot(frame, day, reading) for day, reading in readings],
    ]
    return _svg(parts, words=words, key=key, height=PLOT_HEIGHT)


def work_by_week(
    weeks: Sequence[Week], *, words: Words, names: Mapping[str, str], key: str = "weeks"
) -> str:
    """Return an SVG of one row a week: its counts in figures, and a bar stacked of them.

    Late, due, open, ahead, in that order; ``names`` gives the printed word of each. The
    bars share one scale, on which the fullest week fills the width. ``key`` makes the
    ids unique on a page.

    Raises ValueError for an unknown state, a state without its word, or a negative count.
    """
    _check_weeks(weeks, names)
    fullest = max((week.total for week in weeks), default=0)
    parts = [_pattern(f"{key}-{state}", state) for state in STATES]
    parts += [_week_head(state, names[state], key) for state in STATES]
    for place, week in enumerate(weeks):
        parts += _week_row(week, WEEK_TOP + place * WEEK_ROW, fullest, key)
    return _svg(parts, words=words, key=key, height=WEEK_TOP + len(weeks) * WEEK_ROW + 4)


def nice_steps(low: float, high: float, about: int) -> list[float]:
    """Return the round figures from ``low`` to ``high``, 1, 2 or 5 times a power of ten apart.

    At least ``about`` of them, at most three times as many. Raises ValueError unless low < high.
    """
    if not low < high:
        raise ValueError(f"low must be under high, not {low} and {high}")
    rough = (high - low) / about
    power = 10.0 ** math.floor(math.log10(rough))
    step = max(power * times for times in (1, 2, 5, 10) if power * times <= rough * 1.001)
    first = math.ceil(low / step)
    last = math.floor(high / step)
    return [place * step for place in range(first, last + 1)]


def _check_use(
    readings: Sequence[tuple[date, float]], forecast: Sequence[Forecast], limits: Sequence[Limit]
) -> None:
    if not readings:
        raise ValueError("readings must hold at least one, not none")
    days = [day for day, _ in readings] + [step.on for step in forecast]
    for earlier, later in pairwise(days):
        if later < earlier:
            raise ValueError(f"days must be in order, not {later} after {earlier}")
    for figure in _figures(readings, forecast, limits):
        if not math.isfinite(figure):
            raise ValueError(f"a figure must be finite, not {figure}")


def _figures(
    readings: Sequence[tuple[date, float]], forecast: Sequence[Forecast], limits: Sequence[Limit]
) -> list[float]:
    expected = [figure for step in forecast for figure in (step.low, step.likely, step.high)]
    return [reading for _, reading in readings] + expected + [limit.at for limit in limits]


def _frame(
    readings: Sequence[tuple[date, float]], forecast: Sequence[Forecast], limits: Sequence[Limit]
) -> Frame:
    days = [day for day, _ in readings] + [step.on for step in forecast]
    first, last = min(days), max(days)
    if first == last:
        last = first + timedelta(days=EMPTY_SPAN_DAYS)
    figures = _figures(readings, forecast, limits)
    room = (max(figures) - min(figures)) * HEADROOM or 1.0
    return Frame(first, last, min(figures) - room, max(figures) + room)


def _axes(frame: Frame, unit: str, say_day: Callable[[date], str]) -> list[str]:
    parts = [_text(0, frame.top - 9, unit)]
    for reading in nice_steps(frame.low, frame.high, READING_TICKS):
        y = frame.y(reading)
        parts.append(_rule(frame.left, y, frame.right, y, "0.5"))
        parts.append(_text(frame.left - 6, y + 4, f"{reading:.10g}", anchor="end"))
    parts.append(_rule(frame.left, frame.bottom, frame.right, frame.bottom, "1.5"))
    return parts + _day_ticks(frame, say_day)


def _day_ticks(frame: Frame, say_day: Callable[[date], str]) -> list[str]:
    span = (frame.last - frame.first).days
    places = sorted({round(span * step / (DAY_TICKS - 1)) for step in range(DAY_TICKS)})
    parts = []
    for place in places:
        day = frame.first + timedelta(days=place)
        x = frame.x(day)
        anchor = "end" if day == frame.last else "middle"
        parts.append(_rule(x, frame.bottom, x, frame.bottom + 5, "1.5"))
        parts.append(_text(x, frame.bottom + 20, say_day(day), anchor=anchor, size=12))
    return parts


def _band(
    frame: Frame, last: tuple[date, float], forecast: Sequence[Forecast], key: str
) -> list[str]:
    if not forecast:
        return []
    lower = [last] + [(step.on, step.low) for step in forecast]
    upper = [(step.on, step.high) for step in reversed(forecast)]
    likely = [last] + [(step.on, step.likely) for step in forecast]
    outline = frame.points(lower + upper)
    return [
        f'<polygon points="{outline}" fill="url(#{key}-band)" stroke="currentColor"'
        ' stroke-width="0.6"/>',
        _line(frame.points(likely), "4", PAPER),
        _line(frame.points(likely), "1.6", dashes="5 3"),
    ]


def _limits(frame: Frame, limits: Sequence[Limit]) -> list[str]:
    """Return level lines, the highest first, each name below the one before it."""
    parts, last_y = [], -LINE_HEIGHT
    for limit in sorted(limits, key=lambda one: -one.at):
        y = frame.y(limit.at)
        last_y = max(y - 4, last_y + LINE_HEIGHT)
        parts.append(_rule(frame.left, y, frame.right, y, "1.5", "8 3"))
        parts.append(_text(frame.left + 5, last_y, f"{limit.name} {limit.at:.10g}", halo=True))
    return parts


def _upright(frame: Frame, day: date | None) -> list[str]:
    if day is None or not frame.first <= day <= frame.last:
        return []
    return [_rule(frame.x(day), frame.top, frame.x(day), frame.bottom, "1", "2 3")]


def _dot(frame: Frame, day: date, reading: float) -> str:
    return (
        f'<circle cx="{frame.x(day):.1f}" cy="{frame.y(reading):.1f}" r="3" fill="currentColor"/>'
    )


def _check_weeks(weeks: Sequence[Week], names: Mapping[str, str]) -> None:
    for state in STATES:
        if state not in names:
            raise ValueError(f"names must have a word for {state!r}")
    for week in weeks:
        for state, count in week.counts.items():
            if state not in STATES:
                raise ValueError(f"a state must be one of {STATES}, not {state!r}")
            if count < 0:
                raise ValueError(f"a count must be 0 or more, not {count}")


def _week_head(state: str, name: str, key: str) -> str:
    end = COUNT_ENDS[state]
    swatch = _filled(end - 13, 2, 13, 13, f"{key}-{state}")
    return swatch + _text(end, 30, name, anchor="end", size=12)


def _week_row(week: Week, top: int, fullest: int, key: str) -> list[str]:
    parts = [_rule(0, top, WIDTH, top, "0.5"), _text(0, top + 17, week.name)]
    start = float(BAR_FROM)
    for state in STATES:
        count = week.counts.get(state, 0)
        parts.append(_text(COUNT_ENDS[state], top + 17, str(count), anchor="end", bold=count > 0))
        if count:
            width = BAR_WIDTH * count / fullest
            parts.append(_filled(start, top + 4.5, width, BAR_HEIGHT, f"{key}-{state}"))
            start += width
    return parts


def _pattern(name: str, state: str) -> str:
    return (
        f'<pattern id="{escape(name)}" width="6" height="6" patternUnits="userSpaceOnUse">'
        f'<rect width="6" height="6" fill="{PAPER}"/>{PATTERNS[state]}</pattern>'
    )


def _filled(x: float, y: float, width: float, height: float, pattern: str) -> str:
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height}"'
        f' fill="url(#{pattern})" stroke="currentColor"/>'
    )


def _rule(x1: float, y1: float, x2: float, y2: float, width: str, dashes: str = "none") -> str:
    return (
        f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" stroke="currentColor"'
        f' stroke-width="{width}" stroke-dasharray="{dashes}"/>'
    )


def _line(points: str, width: str, ink: str = "currentColor", dashes: str = "none") -> str:
    return (
        f'<polyline points="{points}" fill="none" stroke="{ink}" stroke-width="{width}"'
        f' stroke-dasharray="{dashes}"/>'
    )


def _text(
    x: float,
    y: float,
    words: str,
    *,
    anchor: str = "start",
    size: int = TEXT_SIZE,
    bold: bool = False,
    halo: bool = False,
) -> str:
    weight = ' font-weight="700"' if bold else ""
    edge = f' stroke="{PAPER}" stroke-width="3" paint-order="stroke"' if halo else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="{anchor}"'
        f' fill="currentColor"{weight}{edge}>{escape(words)}</text>'
    )


def _svg(parts: Sequence[str], *, words: Words, key: str, height: int) -> str:
    told = quoteattr(f"{key}-title {key}-told")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img"'
        f' aria-labelledby={told} font-family="sans-serif">'
        f"<title id={quoteattr(f'{key}-title')}>{escape(words.title)}</title>"
        f"<desc id={quoteattr(f'{key}-told')}>{escape(words.told)}</desc>"
        f"{''.join(parts)}</svg>"
    )
