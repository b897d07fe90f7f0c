"""What would settle a value of a sheet that can't be told, in readings and marks. Pure."""

from collections.abc import Callable, Sequence
from functools import partial

from alignment.counting import CAMBERS, SIDE_TO_SIDE, TOE, counting
from alignment.judging import Judged, half_turn_groups, toe_limits_mm
from alignment.readings import Camber, Sheet
from alignment.settling import MOST_READINGS, Asks, what_settles
from alignment.uncertainty import (
    CAMBER_REPEAT_DEG,
    TOE_REPEAT_MM,
    Combined,
    Component,
    combined,
    gauge_standard_at,
    pooled_repeat,
    square_standard_at,
    toe_standard_at,
)

# What tapes, squares and gauges have: common practice, no source.
INCH_MARKS_MM = tuple(25.4 / parts for parts in (16, 32, 64))
METRIC_MARKS_MM = (1.0, 0.5)
GAUGE_MARKS_DEG = (1.0, 0.5, 0.2, 0.1, 0.05)
MOST_CAMBERS = 3

StandardAt = Callable[[float, int], Combined]


def asks_for(sheet: Sheet, judged: Judged, name: str) -> Asks | None:
    """Return what would settle a value that was read; None where nothing here would.

    The mark is in mm for a tape or a square, in degrees for a gauge.
    """
    low, high = limits_of(sheet, name)
    mark, marks = _marks(sheet, name)
    return what_settles(
        judged.results[name].value,
        low,
        high,
        mark=mark,
        marks=marks,
        standard_at=_standard_at(sheet, name),
        most=MOST_READINGS if name == TOE else _most_cambers(sheet, name),
    )


def least_of_toe(sheet: Sheet) -> Asks | None:
    """Return how often toe is to be read to prove it inside; None where once may do."""
    low, high = toe_limits_mm(sheet)
    mark, marks = _marks(sheet, TOE)
    standard_at = partial(toe_standard_at, repeat=Component(TOE_REPEAT_MM))
    known = {"mark": mark, "marks": marks, "standard_at": standard_at}
    asks = what_settles((low + high) / 2, low, high, **known)
    return None if asks == Asks(1, mark) else asks


def limits_of(sheet: Sheet, name: str) -> tuple[float, float]:
    """Return between what a value belongs: mm for toe, degrees for the others."""
    limits = sheet.limits
    if name == TOE:
        return toe_limits_mm(sheet)
    if name == SIDE_TO_SIDE:
        return -limits.side_to_side_deg, limits.side_to_side_deg
    return limits.camber_low_deg, limits.camber_high_deg


def _cambers(sheet, name) -> list[Sequence[Camber]]:
    """Return the readings that count of each wheel that a value is of."""
    read = counting(sheet)
    return [read[one] for one in (CAMBERS if name == SIDE_TO_SIDE else (name,))]


def _most_cambers(sheet, name):
    with_half_turn = all(any(one.half_turn for one in wheel) for wheel in _cambers(sheet, name))
    return 2 * MOST_CAMBERS if with_half_turn else MOST_CAMBERS


def _marks(sheet, name) -> tuple[float, Sequence[float]]:
    if is_by_gauge(sheet, name):
        return sheet.gauge_mark_deg, GAUGE_MARKS_DEG
    is_inch = any(abs(sheet.mark_mm - mark) < 1e-3 for mark in INCH_MARKS_MM)
    return sheet.mark_mm, INCH_MARKS_MM if is_inch else METRIC_MARKS_MM


def is_by_gauge(sheet: Sheet, name: str) -> bool:
    """Whether a finer mark for a value is one of the gauge, in degrees."""
    return name != TOE and _by_gauge(_cambers(sheet, name))


def _by_gauge(wheels):
    return any(one.gauge_deg is not None for wheel in wheels for one in wheel)


def _standard_at(sheet, name) -> StandardAt:
    if name == TOE:
        repeat = pooled_repeat([[toe.mm for toe in counting(sheet)[TOE]]], TOE_REPEAT_MM)
        return partial(toe_standard_at, repeat=repeat)
    by_gauge = is_by_gauge(sheet, name)
    wheels = [_camber_standard_at(sheet, wheel, by_gauge) for wheel in _cambers(sheet, name)]
    return lambda mark, count: combined(*(at(mark, count) for at in wheels))


def _camber_standard_at(sheet, wheel, marks_of_gauge) -> StandardAt:
    """Return the standard at a mark; a square beside the other wheel's gauge keeps its own."""
    repeat = pooled_repeat(half_turn_groups(sheet, wheel), CAMBER_REPEAT_DEG)
    if _by_gauge([wheel]):
        return partial(gauge_standard_at, repeat=repeat)
    square = partial(
        square_standard_at, between_mm=min(one.between_mm for one in wheel), repeat=repeat
    )
    return (lambda _mark, count: square(sheet.mark_mm, count)) if marks_of_gauge else square
