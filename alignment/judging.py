"""What a camber and toe sheet proves: its last readings against their limits. Pure.

Signs and units as in geometry: minus camber = top leans in; plus toe = toe-in; mm, degrees.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from alignment.counting import CAMBERS, SIDE_TO_SIDE, TOE, counting, of_pass
from alignment.geometry import camber_with_floor
from alignment.readings import Camber, Sheet, Toe
from alignment.uncertainty import (
    CANT_TELL,
    INSIDE,
    OUTSIDE,
    Combined,
    combined,
    gauge_standard,
    mean_of_groups,
    probability_inside,
    square_standard,
    toe_standard,
    verdict,
)

FOUND, LEFT_AS = "found", "left"
TAG_CAMBER_DEG = 1.5  # common practice, no source


@dataclass(frozen=True)
class Result:
    """A measured value with its uncertainty, and what that proves.

    ``expanded`` is twice ``standard`` (k = 2), ``freedom`` its effective degrees of freedom,
    ``probability`` that the value lies inside its limits, ``count`` of how many readings.
    """

    value: float
    expanded: float
    verdict: str
    probability: float
    freedom: float
    count: int
    standard: float


@dataclass(frozen=True)
class Judged:
    """The results by name: "camber left", "camber right", "side to side", "toe".

    ``missing`` names those of which no reading counts.
    """

    results: Mapping[str, Result]
    missing: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """The worst of the verdicts; empty when nothing was measured."""
        found = {result.verdict for result in self.results.values()}
        return next((word for word in (OUTSIDE, CANT_TELL, INSIDE) if word in found), "")

    @property
    def outside(self) -> tuple[str, ...]:
        return self._with(OUTSIDE)

    @property
    def unsure(self) -> tuple[str, ...]:
        return self._with(CANT_TELL)

    def _with(self, word):
        return tuple(name for name, one in self.results.items() if one.verdict == word)

    @property
    def is_toe_out(self) -> bool:
        """Toe-out is proved, not only read."""
        toe = self.results.get(TOE)
        return toe is not None and toe.value + toe.expanded < 0

    @property
    def leaning(self) -> tuple[str, ...]:
        """The wheels so far off that the cart is kept out of use."""
        wheels = (name for name in self.outside if name in CAMBERS)
        return tuple(name for name in wheels if abs(self.results[name].value) > TAG_CAMBER_DEG)


def judge(sheet: Sheet) -> Judged:
    """Return what the readings that count last prove."""
    return _judged(sheet, counting(sheet))


def judge_pass(sheet: Sheet, pass_no: int) -> Judged:
    """Return what the readings of one pass alone prove, void since or not."""
    return _judged(sheet, of_pass(sheet, pass_no))


def judge_stage(sheet: Sheet, stage: str) -> Judged:
    """Return what was found, or what counts of the passes after that."""
    return judge_pass(sheet, 1) if stage == FOUND else _judged(sheet, counting(sheet, after=1))


def _judged(sheet: Sheet, taken: Mapping[str, Sequence]) -> Judged:
    results = {name: camber_result(sheet, taken[name]) for name in CAMBERS if taken[name]}
    if len(results) == len(CAMBERS):
        results[SIDE_TO_SIDE] = _side_to_side(sheet, *results.values())
    if taken[TOE]:
        results[TOE] = toe_result(sheet, taken[TOE])
    return Judged(results, tuple(name for name, readings in taken.items() if not readings))


def camber_result(sheet: Sheet, readings: Sequence[Camber]) -> Result:
    """Return the mean camber of a wheel in degrees, freed of the floor's slope.

    Where the wheel was read again after half a turn it is the mean of both groups' means, so
    that a bent rim cancels however often either was read.
    """
    groups = half_turn_groups(sheet, readings)
    limits = sheet.limits.camber_low_deg, sheet.limits.camber_high_deg
    spread = camber_spread(sheet, readings, groups)
    return _result(mean_of_groups(*groups), spread, limits, len(readings))


def half_turn_groups(sheet: Sheet, readings: Sequence[Camber]) -> list[list[float]]:
    """Return the cambers in degrees, those before and those after half a turn apart."""
    groups = [
        [camber_of(sheet, one) for one in readings if one.half_turn is half]
        for half in (False, True)
    ]
    return [group for group in groups if group]


def camber_of(sheet: Sheet, reading: Camber) -> float:
    """Return a reading's camber in degrees, freed of the floor's slope."""
    # a gauge is zeroed on the floor that it stands on
    if sheet.floor is None or reading.gauge_deg is not None:
        return reading.deg
    fall_mm, over_mm, low_side = sheet.floor
    floor = {"fall_mm": fall_mm, "over_mm": over_mm, "low_side": low_side}
    left_deg, right_deg = camber_with_floor(0.0, 0.0, **floor)
    return reading.deg + (left_deg if reading.side == "left" else right_deg)


def camber_spread(
    sheet: Sheet, readings: Sequence[Camber], groups: Sequence[Sequence[float]]
) -> Combined:
    """Return the uncertainty of the groups' mean: the wider one of a square and a gauge."""
    squares_mm = {one.between_mm for one in readings if one.gauge_deg is None}
    spreads = [square_standard(sheet.mark_mm, mm, *groups) for mm in squares_mm]
    if any(one.gauge_deg is not None for one in readings):
        spreads.append(gauge_standard(sheet.gauge_mark_deg, *groups))
    return max(spreads, key=lambda one: one.standard)


def _side_to_side(sheet: Sheet, left: Result, right: Result) -> Result:
    limit = sheet.limits.side_to_side_deg
    spread = combined(*(Combined(one.standard, one.freedom) for one in (left, right)))
    count = min(left.count, right.count)
    return _result(left.value - right.value, spread, (-limit, limit), count)


def toe_result(sheet: Sheet, readings: Sequence[Toe]) -> Result:
    """Return the mean toe in mm at the tyres' diameter; toe-out is never inside."""
    each_mm = [toe.mm for toe in readings]
    spread = toe_standard(sheet.mark_mm, each_mm)
    return _result(mean_of_groups(each_mm), spread, toe_limits_mm(sheet), len(readings))


def toe_limits_mm(sheet: Sheet) -> tuple[float, float]:
    """Return the limits of toe, neither of them toe-out."""
    return max(0.0, sheet.limits.toe_low_mm), max(0.0, sheet.limits.toe_high_mm)


def _result(value, spread, limits, count):
    return Result(
        value=value,
        expanded=spread.expanded,
        verdict=verdict(value, *limits, spread.expanded),
        probability=probability_inside(value, *limits, spread.standard),
        freedom=spread.freedom,
        count=count,
        standard=spread.standard,
    )
