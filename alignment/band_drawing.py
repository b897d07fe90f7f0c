"""A value with its uncertainty on the band between its limits, as SVG text. Pure.

Within the expanded uncertainty of a limit lies the guard band, hatched: a value there can't
be told from that limit (JCGM 106). Outside is dotted, inside is left white. Words and
figures come from the caller.
"""

from collections.abc import Callable
from dataclasses import dataclass

from alignment import ink

LEFT_X, RIGHT_X = 16, ink.WIDTH - 16
VALUE_Y, MARK_Y, STRIP_Y, STRIP_HIGH = 18, 40, 56, 26
FIGURES_Y, FIGURES_APART = 102, 10
SWATCH = 20
# in widths of the band, beyond a limit: what is always shown, and the most
LEAST_BEYOND, MOST_BEYOND, ZERO_WITHIN = 0.45, 3.0, 1.5
INSIDE, CANNOT_TELL, OUTSIDE = "inside", "cannot-tell", "outside"


@dataclass(frozen=True)
class Words:
    """What the drawing says: the three verdicts, and what to say of a value that is not there.

    ``beyond`` tells that the arrow stands for a value farther than the scale goes.
    """

    title: str
    told: str
    inside: str
    cannot_tell: str
    outside: str
    not_measured: str
    beyond: str


@dataclass(frozen=True)
class Axis:
    """Maps values between ``low`` and ``high`` onto px from ``start`` to ``end``."""

    low: float
    high: float
    start: float
    end: float

    def px(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return self.start + (self.end - self.start) * max(0.0, min(1.0, share))

    def holds(self, value: float) -> bool:
        return self.low <= value <= self.high


def shown_between(
    low: float, high: float, reaches: list[tuple[float, float]]
) -> tuple[float, float]:
    """Return from where to where a scale goes that shows both limits and the ``reaches``.

    A reach is what a value's uncertainty covers. No side goes farther than MOST_BEYOND
    widths of the band; zero is shown where it is near.
    """
    most = MOST_BEYOND * width_of(low, high)
    start, end = reached_between(low, high, reaches)
    return max(start, low - most), min(end, high + most)


def width_of(low: float, high: float) -> float:
    """Return the width of the band, never nothing."""
    return high - low or max(abs(high), 1e-6)


def reached_between(
    low: float, high: float, reaches: list[tuple[float, float]]
) -> tuple[float, float]:
    """Return from where to where a scale goes, however far the ``reaches`` lie."""
    wide = width_of(low, high)
    least = LEAST_BEYOND * wide
    ends = [low - least, high + least]
    if low - ZERO_WITHIN * wide <= 0 <= high + ZERO_WITHIN * wide:
        ends += [-0.25 * least, 0.25 * least]
    for from_value, to_value in reaches:
        ends += [from_value - 0.2 * least, to_value + 0.2 * least]
    return min(ends), max(ends)


def band(
    value: float | None,
    *,
    expanded: float | None,
    low: float,
    high: float,
    value_words: str,
    figure: Callable[[float], str],
    words: Words,
    key: str = "band",
) -> str:
    """Return an SVG of a value, its expanded uncertainty and the limits, all in one unit.

    ``figure`` writes a number of the scale, ``value_words`` stand at the value. Raises
    ValueError where ``low`` is above ``high``.
    """
    if low > high:
        raise ValueError(f"low must not be above high, not {low} and {high}")
    spread = expanded or 0.0
    reaches = [] if value is None else [(value - spread, value + spread)]
    guards = [(low - spread, high + spread)]
    axis = Axis(*shown_between(low, high, [*reaches, *guards]), LEFT_X, RIGHT_X)
    drawn = [ink.hatching(key), ink.dotting(key)]
    drawn += _strip(axis, zones(low, high, spread), key)
    drawn += _limits(axis, low, high)
    drawn += _figures(axis, low, high, figure)
    drawn += _value(axis, value, spread, value_words, words)
    beyond = [] if value is None or axis.holds(value) else [words.beyond]
    said, y = ink.notes(FIGURES_Y + ink.LEADING, beyond)
    keys, y = _key(words, y + 4, key)
    return ink.svg(
        [*drawn, *said, *keys],
        height=y,
        title=words.title,
        told=words.told,
        key=key,
    )


def zones(low: float, high: float, spread: float) -> list[tuple[str, float, float]]:
    """Return which verdict holds from where to where, from below to above."""
    infinite = float("inf")
    if low + spread > high - spread:
        middle = [(CANNOT_TELL, low - spread, high + spread)]
    else:
        middle = [
            (CANNOT_TELL, low - spread, low + spread),
            (INSIDE, low + spread, high - spread),
            (CANNOT_TELL, high - spread, high + spread),
        ]
    return [
        (OUTSIDE, -infinite, low - spread),
        *(zone for zone in middle if zone[2] > zone[1]),
        (OUTSIDE, high + spread, infinite),
    ]


def _fill(name, key):
    return {INSIDE: ink.PAPER, CANNOT_TELL: ink.hatched(key), OUTSIDE: ink.dotted(key)}[name]


def _strip(axis, areas, key):
    for name, start, end in areas:
        x1, x2 = axis.px(start), axis.px(end)
        if x2 - x1 > 0.01:
            middle = (x1 + x2) / 2, STRIP_Y + STRIP_HIGH / 2
            fill = _fill(name, key)
            yield ink.box(middle, (x2 - x1, STRIP_HIGH), fill=fill, width=0, name=name)
    for y in (STRIP_Y, STRIP_Y + STRIP_HIGH):
        yield ink.line((LEFT_X, y), (RIGHT_X, y), width=1.2)


def _limits(axis, low, high):
    for limit, name in ((low, "limit low"), (high, "limit high")):
        x = axis.px(limit)
        foot = STRIP_Y + STRIP_HIGH + 6
        yield ink.line((x, STRIP_Y), (x, foot), width=2.6, name=name)


def _figures(axis, low, high, figure):
    """Write the limits' figures under the scale, moved apart where they would meet, and zero's."""
    taken = []
    for x, said in _moved_apart([(axis.px(limit), figure(limit)) for limit in {low: 0, high: 0}]):
        half = _half(said)
        taken.append((x - half, x + half))
        yield ink.text((x, FIGURES_Y), said, is_bold=True)
    x, half = axis.px(0), _half(figure(0))
    if axis.holds(0) and all(x + half < start or x - half > end for start, end in taken):
        foot = STRIP_Y + STRIP_HIGH
        yield ink.line((x, foot), (x, foot + 6))
        yield ink.text((x, FIGURES_Y), figure(0))


def _half(said):
    return ink.width_of(said, is_bold=True) / 2 + FIGURES_APART / 2


def _moved_apart(figures):
    if len(figures) == 1:
        return figures
    (low_x, low_said), (high_x, high_said) = figures
    need = _half(low_said) + _half(high_said)
    lacking = max(0.0, need - (high_x - low_x)) / 2
    low_x = ink.inside(low_x - lacking, 2 * _half(low_said))
    high_x = ink.inside(max(high_x + lacking, low_x + need), 2 * _half(high_said))
    return [(min(low_x, high_x - need), low_said), (high_x, high_said)]


def _value(axis, value, spread, value_words, words):
    if value is None:
        yield ink.text((ink.WIDTH / 2, VALUE_Y + 12), words.not_measured, is_bold=True)
        return
    x = axis.px(value)
    yield ink.text((x, VALUE_Y), value_words, is_bold=True)
    if not axis.holds(value):
        way = 1 if value > axis.high else -1
        yield ink.line((x - way * 26, MARK_Y), (x, MARK_Y), width=ink.OUTLINE, name="beyond")
        yield ink.arrow_head((x + way * 10, MARK_Y), 90 * way, long=13)
        return
    if spread:
        yield from _bar(axis.px(value - spread), axis.px(value + spread))
    yield ink.line((x, MARK_Y), (x, STRIP_Y + STRIP_HIGH), width=1.4, name="value")
    yield ink.shape(_diamond((x, MARK_Y), 6), fill=ink.INK, name="mark")


def _bar(start_x, end_x):
    """Draw the uncertainty as a bar with its ends."""
    ends = "".join(f"M{x:.2f} {MARK_Y - 6}V{MARK_Y + 6}" for x in (start_x, end_x))
    d = f"M{start_x:.2f} {MARK_Y}L{end_x:.2f} {MARK_Y}{ends}"
    yield ink.path(d, width=ink.OUTLINE, name="uncertainty")


def _diamond(at, half):
    return [ink.spoke(at, half, deg) for deg in (0, 90, 180, 270)]


def _key(words, y, key):
    """Return the three fills with their verdicts, and the y below."""
    said = ((INSIDE, words.inside), (CANNOT_TELL, words.cannot_tell), (OUTSIDE, words.outside))
    entries = [(SWATCH, word, _swatch(name, key)) for name, word in said]
    return ink.legend(entries, y)


def _swatch(name, key):
    def drawn(x, y):
        return ink.box((x + SWATCH / 2, y), (SWATCH, 12), fill=_fill(name, key), width=1.2)

    return drawn
