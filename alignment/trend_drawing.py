"""Measured values over time with their uncertainty, on the band of the limits, as SVG text. Pure.

Each series has its own marks and stroke; as found and as left differ by the mark's shape.
The caller gives the points that stand: of one cart or one kit, none that was corrected.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor, log10

from alignment import ink
from alignment.band_drawing import Axis, reached_between, width_of

TOP_Y, BOTTOM_Y, RIGHT_X = 14, 214, ink.WIDTH - 10
DATES_Y, DATES_APART = 234, 10
MOST_FIGURES_WIDE = 110
APART = 5.0  # px between readings of one day, where there is room
MARK, SMALL_MARK, MANY = 4.5, 3.4, 24  # half a mark's width, and with so many points or more
SIDE_ROOM, STEPS = 12, 6  # px beside the first and the last day; figures up the scale
WALL = 6  # thickness of the hatching outside a limit
LEAST_BAND = 20  # px from limit to limit: both figures and both hatchings apart
CIRCLE, SQUARE, TRIANGLE, DIAMOND, CROSS, PLUS = (
    "circle",
    "square",
    "triangle",
    "diamond",
    "cross",
    "plus",
)


@dataclass(frozen=True)
class Look:
    """How a series is drawn: its marks as found and as left, their filling, its stroke."""

    found: str
    left: str
    fill: str
    dash: str


LOOKS = (
    Look(CIRCLE, SQUARE, ink.INK, ""),
    Look(TRIANGLE, DIAMOND, ink.PAPER, "6 3"),
    Look(CROSS, PLUS, "none", "2 3"),
)


@dataclass(frozen=True)
class Reading:
    """A value on a day with its expanded uncertainty if known; ``label`` is the day in words."""

    on: date
    value: float
    expanded: float | None = None
    is_left: bool = False
    label: str = ""


@dataclass(frozen=True)
class Series:
    """Readings in the order in which they were taken, and the name of what they are of.

    Those of several carts are not joined by a line.
    """

    name: str
    readings: Sequence[Reading]
    is_joined: bool = True


@dataclass(frozen=True)
class Words:
    """What the drawing says. ``beyond`` tells of an arrow that the value lies farther out."""

    title: str
    told: str
    as_found: str
    as_left: str
    nothing: str
    beyond: str


@dataclass(frozen=True)
class Scene:
    """Both scales, the left edge, half a mark's width, px between readings of one day."""

    days: Axis
    values: Axis
    start: float
    mark: float
    apart: float
    is_many: bool


def trend(
    series: Sequence[Series],
    *,
    low: float,
    high: float,
    figure: Callable[[float], str],
    words: Words,
    key: str = "trend",
) -> str:
    """Return an SVG of up to three series, all in one unit, with ``low`` and ``high`` limits.

    ``figure`` writes a number of the scale. Raises ValueError for a fourth series, or where
    ``low`` is above ``high``.
    """
    if len(series) > len(LOOKS):
        raise ValueError(f"series must be three at most, not {len(series)}")
    if low > high:
        raise ValueError(f"low must not be above high, not {low} and {high}")
    readings = [reading for one in series for reading in one.readings]
    scene, figures = _scene(readings, low, high, figure)
    drawn = [ink.hatching(key), *_limits(scene, low, high, key)]
    drawn += _scale(scene, figures, (low, high))
    looks = LOOKS[: len(series)]
    shown = list(zip(series, looks, _places(scene, series), strict=True))
    drawn += [_joined(scene, places, look) for one, look, places in shown if one.is_joined]
    for one, look, places in shown:
        drawn += _marks(scene, one, look, places)
    drawn += _dates(scene, readings)
    if not readings:
        drawn.append(ink.text((_middle(scene), (TOP_Y + BOTTOM_Y) / 2), words.nothing))
    is_beyond = any(not scene.values.holds(reading.value) for reading in readings)
    keys, y = ink.legend(_entries(shown, words), DATES_Y + 8)
    said, y = ink.notes(y + 8, [words.beyond] if is_beyond else [])
    return ink.svg([*drawn, *keys, *said], height=y, title=words.title, told=words.told, key=key)


def _scene(readings, low, high, figure):
    reaches = [_reach(one) for one in readings]
    values = Axis(*_values_between(low, high, reaches), BOTTOM_Y, TOP_Y)
    figures = [(value, figure(value)) for value in _figures_of(values, low, high)]
    wide = max(ink.width_of(said, is_bold=True) for _value, said in figures)
    start = ink.EDGE + min(wide, MOST_FIGURES_WIDE) + 8
    most_a_day = max(Counter(one.on for one in readings).values(), default=1)
    is_many = len(readings) >= MANY
    mark = SMALL_MARK if is_many else MARK
    apart = min(APART + mark, (RIGHT_X - start) / max(1, len(readings)))
    room = SIDE_ROOM + apart * (most_a_day - 1) / 2
    days = Axis(*_first_and_last(readings), start + room, RIGHT_X - room)
    return Scene(days, values, start, mark, apart, is_many), figures


def _values_between(low, high, reaches):
    """Return from where to where the scale goes: as far as the values, the band still readable.

    Where both sides want more than there is, each has at least half of it.
    """
    start, end = reached_between(low, high, reaches)
    room = ((BOTTOM_Y - TOP_Y) / LEAST_BAND - 1) * width_of(low, high)
    below, above = low - start, end - high
    most_below, most_above = (max(room / 2, room - other) for other in (above, below))
    return low - min(below, most_below), high + min(above, most_above)


def _reach(reading):
    spread = reading.expanded or 0.0
    return reading.value - spread, reading.value + spread


def _first_and_last(readings):
    """Return the days between which the scale goes; a lone day stands in its middle."""
    ordinals = [one.on.toordinal() for one in readings] or [0]
    first, last = min(ordinals), max(ordinals)
    return (first, last) if first < last else (first - 1, last + 1)


def _figures_of(values, low, high):
    """Return what to write beside the scale: the limits, zero, then whole steps."""
    step = _step((values.high - values.low) / STEPS)
    first, last = ceil(values.low / step), floor(values.high / step)
    return list(dict.fromkeys([low, high, *(n * step for n in range(first, last + 1))]))


def _step(least):
    """Return the next 1, 2 or 5 times a power of ten."""
    power = 10.0 ** floor(log10(least))
    return next(power * times for times in (1, 2, 5, 10) if power * times >= least * 0.999)


def _scale(scene, figures, limits):
    start, taken = scene.start, []
    for value, said in figures:
        y = scene.values.px(value)
        if any(abs(y - other) < ink.LEADING - 2 for other in taken):
            continue
        taken.append(y)
        yield ink.text((start - 6, y + 4.5), said, anchor="end", is_bold=value in limits)
        yield ink.line((start - 4, y), (start, y))
    yield ink.line((start, TOP_Y), (start, BOTTOM_Y))
    yield ink.line((start, BOTTOM_Y), (RIGHT_X, BOTTOM_Y))


def _middle(scene):
    return (scene.days.start + scene.days.end) / 2


def _limits(scene, low, high, key):
    """Draw both limits, hatched on the side where a value is outside."""
    start, end = scene.start, RIGHT_X
    for limit, way, name in ((low, 1, "limit low"), (high, -1, "limit high")):
        y = scene.values.px(limit)
        middle = (start + end) / 2, y + way * WALL / 2
        yield ink.box(middle, (end - start, WALL), fill=ink.hatched(key), width=0)
        yield ink.line((start, y), (end, y), width=1.4, name=name)


def _places(scene, series):
    """Return where each series' readings are drawn: those of one day beside each other."""
    a_day = Counter(reading.on for one in series for reading in one.readings)
    drawn: Counter[date] = Counter()
    places = []
    for one in series:
        places.append([])
        for reading in one.readings:
            aside = (drawn[reading.on] - (a_day[reading.on] - 1) / 2) * scene.apart
            drawn[reading.on] += 1
            x = scene.days.px(reading.on.toordinal()) + aside
            places[-1].append((x, scene.values.px(reading.value)))
    return places


def _joined(scene, places, look):
    if len(places) < 2:
        return ""
    d = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in places)
    width = 0.8 if scene.is_many else 1.2
    return ink.path(d, width=width, dash=look.dash, name="joined")


def _marks(scene, one, look, places):
    for reading, place in zip(one.readings, places, strict=True):
        if not scene.values.holds(reading.value):
            is_above = reading.value > scene.values.high
            tip = place[0], place[1] + (-6 if is_above else 6)
            yield ink.arrow_head(tip, 0 if is_above else 180, long=12)
            continue
        if reading.expanded:
            yield _bar(scene, reading, place[0])
        yield mark(look.left if reading.is_left else look.found, place, scene.mark, look.fill)


def _bar(scene, reading, x):
    """Draw the uncertainty as a bar with its ends."""
    half = scene.mark * 0.7
    ys = [scene.values.px(reading.value + way * reading.expanded) for way in (-1, 1)]
    ends = "" if scene.is_many else "".join(f"M{x - half:.2f} {y:.2f}H{x + half:.2f}" for y in ys)
    width = 0.7 if scene.is_many else 1.2
    return ink.path(f"M{x:.2f} {ys[0]:.2f}V{ys[1]:.2f}{ends}", width=width, name="uncertainty")


def mark(name: str, at: ink.Point, half: float, fill: str) -> str:
    """Return a mark of about one size whatever its shape."""
    if name == CIRCLE:
        drawn = ink.circle(at, half, width=1.4, fill=fill)
    elif name == SQUARE:
        drawn = ink.box(at, (half * 1.9, half * 1.9), width=1.4, fill=fill)
    elif name in (CROSS, PLUS):
        drawn = _crossed(at, half * 1.25, 45 if name == CROSS else 0)
    else:
        degs = (0, 120, 240) if name == TRIANGLE else (0, 90, 180, 270)
        corners = [ink.spoke(at, half * 1.35, deg) for deg in degs]
        drawn = ink.shape(corners, width=1.4, fill=fill)
    return ink.group([drawn], f"mark {name}")


def _crossed(at, half, deg):
    lines = [
        ink.line(ink.spoke(at, half, deg + turn), ink.spoke(at, half, deg + turn + 180), width=2.4)
        for turn in (0, 90)
    ]
    return "".join(lines)


def _dates(scene, readings: Iterable[Reading]):
    """Write the days on the axis: the first and the last, and of the others what has room."""
    labels = {one.on.toordinal(): one.label for one in readings}
    ends = [min(labels), max(labels)] if labels else []
    taken: list[tuple[float, float]] = []
    for day in dict.fromkeys([*ends, *sorted(labels)]):
        x = scene.days.px(day)
        yield ink.line((x, BOTTOM_Y), (x, BOTTOM_Y + 4))
        half = ink.width_of(labels[day]) / 2
        middle = ink.inside(x, 2 * half)
        start, end = middle - half - DATES_APART / 2, middle + half + DATES_APART / 2
        if labels[day] and all(end <= one or start >= other for one, other in taken):
            taken.append((start, end))
            yield ink.text((middle, DATES_Y), labels[day])


def _entries(shown, words):
    """Return the key: each mark that is there, with its series and whether as found or left."""
    for one, look, _places in shown:
        for is_left, shape, said in (
            (False, look.found, words.as_found),
            (True, look.left, words.as_left),
        ):
            if any(reading.is_left == is_left for reading in one.readings):
                name = f"{one.name}, {said}" if one.name else said
                yield 14, name, _key_mark(shape, look, one.is_joined)


def _key_mark(shape, look, is_joined):
    def drawn(x, y):
        ends = (x - 3, y), (x + 16, y)
        joined = ink.line(*ends, width=1.2, dash=look.dash) if is_joined else ""
        return joined + mark(shape, (x + 6.5, y), MARK, look.fill)

    return drawn
