"""What does not fit together on a camber and toe sheet: shown, never refused. Pure.

Signs and units as in geometry: minus camber = top leans in; plus toe = toe-in; mm, degrees.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import hypot
from statistics import fmean

from alignment.advice import Steering, camber_deg_a_flat, one_rod_mm_a_flat
from alignment.counting import CAMBERS, SIDE_TO_SIDE, TOE, of_pass, until
from alignment.judging import Result, camber_of, camber_result, camber_spread, judge, judge_pass
from alignment.readings import ROD, SLEEVE, Camber, Sheet, Toe
from alignment.uncertainty import (
    CAMBER_REPEAT_DEG,
    COVERAGE,
    SCATTER_BOUNDS,
    TOE_REPEAT_MM,
    Component,
    gauge_standard_at,
    scatters,
    square_standard_at,
    toe_standard_at,
)

SCATTER, FLOOR = "scatter", "floor"
BENT_RIM, TWO_TOOLS = "bent-rim", "two-tools"
WRONG_WAY, DID_NOT_MOVE = "wrong-way", "did-not-move"
KINDS = (SCATTER, BENT_RIM, TWO_TOOLS, FLOOR, WRONG_WAY, DID_NOT_MOVE)
SHOWN_DEG = 0.005  # half of the last figure that pages show


@dataclass(frozen=True)
class Contradiction:
    """Readings of one value that do not fit together, at a pass; ``name`` as of its result.

    ``figures``: of a scatter the readings; of a bent rim the means before and after half a
    turn; of two tools the means by square and by gauge; of the floor left plus right before
    and after the correction; of a turn the change that it should have made, the one that was
    read, and the uncertainty of that (k = 2).
    """

    kind: str
    name: str
    pass_no: int
    figures: tuple[float, ...]


def gains_by(steering: Steering, diameter_mm: float | None) -> dict[str, float]:
    """Return what one flat longer does by the figures that are known, as contradictions takes."""
    gains = {}
    if steering.sleeve:
        gains[SLEEVE] = camber_deg_a_flat(steering.sleeve)
    if steering.rod and diameter_mm:
        gains[ROD] = one_rod_mm_a_flat(steering.rod, diameter_mm)
    return gains


def misdone(found: Iterable[Contradiction], sheet: Sheet, name: str) -> bool:
    """Whether the last turn for a value moved it the other way, or hardly."""
    what = ROD if name == TOE else SLEEVE
    passes = [
        turn.pass_no
        for turn in sheet.turns
        if turn.what == what and name in (TOE, f"camber {turn.at}")
    ]
    last = max(passes, default=0)
    turned = (WRONG_WAY, DID_NOT_MOVE)
    return any((one.name, one.pass_no) == (name, last) and one.kind in turned for one in found)


def contradictions(
    sheet: Sheet, *, gains: Mapping[str, float] | None = None
) -> tuple[Contradiction, ...]:
    """Return what does not fit together, pass by pass.

    ``gains`` are what one flat longer does: SLEEVE degrees of camber, ROD mm of total toe
    for one rod, each with its sign. A turn whose gain is not given is not looked at.
    """
    found = [
        one
        for pass_no in _passes(sheet)
        for looked in (_scattered, _apart, _floor)
        for one in looked(sheet, pass_no)
    ]
    found += _turns(sheet, gains or {})
    return tuple(sorted(found, key=lambda one: one.pass_no))


def _passes(sheet):
    return sorted({one.pass_no for one in (*sheet.cambers, *sheet.toes)})


def _scattered(sheet: Sheet, pass_no: int) -> Iterator[Contradiction]:
    for name, readings in of_pass(sheet, pass_no).items():
        for one_set in _sets(readings):
            values = tuple(_value(sheet, one) for one in one_set)
            if _is_bounded(values) and scatters(values, _of_one(sheet, one_set[0]).standard):
                yield Contradiction(SCATTER, name, pass_no, values)


def _is_bounded(values):
    """Whether a bound is known: a page takes fewer readings than an entry may hold."""
    return len(values) in SCATTER_BOUNDS


def _sets(readings):
    """Return the readings that should agree: of one tool, before or after half a turn."""
    return [one_set for half in _split(readings, _is_half) for one_set in _split(half, _by_gauge)]


def _split(readings, question):
    return [[one for one in readings if question(one) is answer] for answer in (False, True)]


def _is_half(reading):
    return isinstance(reading, Camber) and reading.half_turn


def _by_gauge(reading):
    return isinstance(reading, Camber) and reading.gauge_deg is not None


def _value(sheet, reading):
    return reading.mm if isinstance(reading, Toe) else camber_of(sheet, reading)


def _of_one(sheet, reading):
    if isinstance(reading, Toe):
        return toe_standard_at(sheet.mark_mm, 1, repeat=Component(TOE_REPEAT_MM))
    repeat = Component(CAMBER_REPEAT_DEG)
    if reading.gauge_deg is not None:
        return gauge_standard_at(sheet.gauge_mark_deg, 1, repeat=repeat)
    return square_standard_at(sheet.mark_mm, 1, between_mm=reading.between_mm, repeat=repeat)


def _apart(sheet: Sheet, pass_no: int) -> Iterator[Contradiction]:
    """Yield bent rims, which cancel and yet are not straight, and tools that disagree."""
    for name in CAMBERS:
        halves = _split(of_pass(sheet, pass_no)[name], _is_half)
        pairs = [(BENT_RIM, halves), *((TWO_TOOLS, _split(half, _by_gauge)) for half in halves)]
        for kind, groups in pairs:
            if all(groups) and _differ(sheet, *groups):
                yield Contradiction(kind, name, pass_no, _means(sheet, groups))


def _differ(sheet, *groups):
    one, other = _means(sheet, groups)
    return abs(one - other) > COVERAGE * hypot(*(_spread(sheet, group) for group in groups))


def _means(sheet, groups):
    return tuple(fmean(_value(sheet, one) for one in group) for group in groups)


def _spread(sheet, group):
    return camber_spread(sheet, group, [[_value(sheet, one) for one in group]]).standard


def _floor(sheet: Sheet, pass_no: int) -> Iterator[Contradiction]:
    """Yield where the floor's slope did not cancel: one wheel by a square, one by a gauge."""
    readings = of_pass(sheet, pass_no)
    if sheet.floor is None or not all(readings[name] for name in CAMBERS):
        return
    figures = tuple(
        sum(camber_result(floor, readings[name]).value for name in CAMBERS)
        for floor in (replace(sheet, floor=None), sheet)
    )
    if abs(figures[0] - figures[1]) > SHOWN_DEG:
        yield Contradiction(FLOOR, SIDE_TO_SIDE, pass_no, figures)


def _turns(sheet: Sheet, gains: Mapping[str, float]) -> Iterator[Contradiction]:
    for pass_no in sorted({turn.pass_no for turn in sheet.turns}):
        for name in (*CAMBERS, TOE):
            expected = _expected(sheet, pass_no, name, gains)
            before, after = _around(sheet, pass_no, name)
            if expected and before and after:
                yield from _moved(name, pass_no, expected, before, after)


def _expected(sheet, pass_no, name, gains) -> float | None:
    """Return the change that a pass's turns should have made; None where not counted."""
    what = ROD if name == TOE else SLEEVE
    turned = [turn for turn in sheet.turns if (turn.pass_no, turn.what) == (pass_no, what)]
    if what == SLEEVE:
        turned = [turn for turn in turned if f"camber {turn.at}" == name]
    if what not in gains or any(turn.longer_flats is None for turn in turned):
        return None
    return gains[what] * sum(turn.longer_flats for turn in turned)


def _around(sheet, pass_no, name) -> tuple[Result | None, Result | None]:
    """Return what counted just before a pass, and what that pass read."""
    after = judge_pass(sheet, pass_no).results.get(name)
    return judge(until(sheet, pass_no - 1)).results.get(name), after


def _moved(name, pass_no, expected, before, after) -> Iterator[Contradiction]:
    change = after.value - before.value
    expanded = hypot(before.expanded, after.expanded)
    figures = (expected, change, expanded)
    if abs(change) > expanded and change * expected < 0:
        yield Contradiction(WRONG_WAY, name, pass_no, figures)
    # a formula may be far off: only what should have moved by twice the doubt
    if abs(change) <= expanded and abs(expected) > COVERAGE * expanded:
        yield Contradiction(DID_NOT_MOVE, name, pass_no, figures)
