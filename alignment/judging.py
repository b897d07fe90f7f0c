"""What a camber and toe sheet proves: its last readings against their limits. Pure.

Signs and units as in geometry: minus camber = top leans in; plus toe = toe-in; mm, degrees.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import hypot
from statistics import fmean

from alignment.geometry import camber_deg, camber_with_floor, toe_mm
from alignment.uncertainty import (
    CANT_TELL,
    COVERAGE,
    INSIDE,
    OUTSIDE,
    gauge_standard_deg,
    square_standard_deg,
    toe_standard_mm,
    verdict,
)

FOUND, LEFT_AS = "found", "left"
SIDES = ("left", "right")
TAG_CAMBER_DEG = 1.5  # common practice, no source


@dataclass(frozen=True)
class Limits:
    """Between what camber and toe belong. Common practice, no source."""

    camber_low_deg: float = -0.5
    camber_high_deg: float = 0.5
    side_to_side_deg: float = 0.5
    toe_low_mm: float = 25.4 / 8
    toe_high_mm: float = 25.4 / 4


@dataclass(frozen=True)
class Camber:
    """One reading of a wheel: two gaps of a square ``between_mm`` apart, or a gauge."""

    stage: str
    side: str
    gap_top_mm: float | None = None
    gap_bottom_mm: float | None = None
    between_mm: float | None = None
    gauge_deg: float | None = None

    @property
    def deg(self) -> float:
        if self.gauge_deg is not None:
            return self.gauge_deg
        return camber_deg(self.gap_top_mm, self.gap_bottom_mm, self.between_mm)


@dataclass(frozen=True)
class Toe:
    """One pass of the tape; ``is_void`` when camber was turned after it."""

    stage: str
    front_mm: float
    rear_mm: float
    is_void: bool = False

    @property
    def mm(self) -> float:
        return toe_mm(self.front_mm, self.rear_mm)


@dataclass(frozen=True)
class Sheet:
    """A sheet as it was read. ``floor`` is (fall_mm, over_mm, low side) where it slopes."""

    mark_mm: float
    gauge_mark_deg: float = 0.1
    cambers: Sequence[Camber] = ()
    toes: Sequence[Toe] = ()
    floor: tuple[float, float, str] | None = None
    camber_turned: frozenset[str] = frozenset()
    tie_rod_turned: bool = False
    limits: Limits = field(default_factory=Limits)


@dataclass(frozen=True)
class Result:
    """A measured value with its expanded uncertainty (k = 2) and what that proves."""

    value: float
    expanded: float
    verdict: str


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
        return tuple(name for name, one in self.results.items() if one.verdict == OUTSIDE)

    @property
    def is_toe_out(self) -> bool:
        """Toe-out is proved, not only read."""
        toe = self.results.get("toe")
        return toe is not None and toe.value + toe.expanded < 0

    @property
    def leaning(self) -> tuple[str, ...]:
        """The wheels so far off that the cart is kept out of use."""
        wheels = (name for name in self.outside if name.startswith("camber"))
        return tuple(name for name in wheels if abs(self.results[name].value) > TAG_CAMBER_DEG)


def judge(sheet: Sheet) -> Judged:
    """Return what the readings that count last prove: as left, else as found.

    What was turned afterwards voids a reading: camber its own wheel's and every toe, a tie
    rod the toe as found.
    """
    last = {
        **{f"camber {side}": _last_camber(sheet, side) for side in SIDES},
        "toe": _last_toe(sheet),
    }
    return _judged(sheet, last)


def judge_stage(sheet: Sheet, stage: str) -> Judged:
    """Return what the readings of one stage alone prove, turned since or not."""
    taken = {
        **{f"camber {side}": _cambers(sheet, side, stage) for side in SIDES},
        "toe": [toe for toe in sheet.toes if toe.stage == stage],
    }
    return _judged(sheet, taken)


def _last_camber(sheet: Sheet, side: str) -> list[Camber]:
    as_left = _cambers(sheet, side, LEFT_AS)
    return as_left or ([] if side in sheet.camber_turned else _cambers(sheet, side, FOUND))


def _last_toe(sheet: Sheet) -> list[Toe]:
    valid = [toe for toe in sheet.toes if not toe.is_void]
    as_left = [toe for toe in valid if toe.stage == LEFT_AS]
    if as_left or sheet.tie_rod_turned or sheet.camber_turned:
        return as_left
    return [toe for toe in valid if toe.stage == FOUND]


def _cambers(sheet: Sheet, side: str, stage: str) -> list[Camber]:
    return [one for one in sheet.cambers if (one.side, one.stage) == (side, stage)]


def _judged(sheet: Sheet, taken: Mapping[str, Sequence]) -> Judged:
    results = {
        f"camber {side}": camber_result(sheet, side, taken[f"camber {side}"])
        for side in SIDES
        if taken[f"camber {side}"]
    }
    if len(results) == len(SIDES):
        results["side to side"] = _side_to_side(sheet, *results.values())
    if taken["toe"]:
        results["toe"] = toe_result(sheet, taken["toe"])
    return Judged(results, tuple(name for name, readings in taken.items() if not readings))


def camber_result(sheet: Sheet, side: str, readings: Sequence[Camber]) -> Result:
    """Return the mean camber of a wheel in degrees, freed of the floor's slope."""
    each_deg = [one.deg + _from_floor_deg(sheet, one) for one in readings]
    squares_mm = [one.between_mm for one in readings if one.gauge_deg is None]
    standards_deg = [square_standard_deg(sheet.mark_mm, mm, each_deg) for mm in squares_mm]
    if len(squares_mm) < len(readings):
        standards_deg.append(gauge_standard_deg(sheet.gauge_mark_deg, each_deg))
    value, expanded = fmean(each_deg), COVERAGE * max(standards_deg)
    low, high = sheet.limits.camber_low_deg, sheet.limits.camber_high_deg
    return Result(value, expanded, verdict(value, low, high, expanded))


def _from_floor_deg(sheet: Sheet, reading: Camber) -> float:
    # a gauge is zeroed on the floor that it stands on
    if sheet.floor is None or reading.gauge_deg is not None:
        return 0.0
    fall_mm, over_mm, low_side = sheet.floor
    floor = {"fall_mm": fall_mm, "over_mm": over_mm, "low_side": low_side}
    left_deg, right_deg = camber_with_floor(0.0, 0.0, **floor)
    return left_deg if reading.side == "left" else right_deg


def _side_to_side(sheet: Sheet, left: Result, right: Result) -> Result:
    value, expanded = left.value - right.value, hypot(left.expanded, right.expanded)
    limit = sheet.limits.side_to_side_deg
    return Result(value, expanded, verdict(value, -limit, limit, expanded))


def toe_result(sheet: Sheet, readings: Sequence[Toe]) -> Result:
    """Return the mean toe in mm at the tyres' diameter."""
    each_mm = [toe.mm for toe in readings]
    value, expanded = fmean(each_mm), COVERAGE * toe_standard_mm(sheet.mark_mm, each_mm)
    limits = sheet.limits
    return Result(value, expanded, verdict(value, limits.toe_low_mm, limits.toe_high_mm, expanded))
