"""A camber and toe sheet as numbers: its readings, pass by pass, and what was turned. Pure.

Signs and units as in geometry: minus camber = top leans in; plus toe = toe-in; mm, degrees.
The first pass is as found; each later one was read after something was turned, or after the
drive. Within a pass camber is read before toe.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from alignment.geometry import camber_deg, toe_mm

SIDES = ("left", "right")
SLEEVE, ROD = "sleeve", "rod"


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
    """One reading of a wheel: two gaps of a square ``between_mm`` apart, or a gauge.

    ``half_turn``: the wheel had been turned half a turn, so that a bent rim cancels.
    """

    side: str
    pass_no: int = 1
    gap_top_mm: float | None = None
    gap_bottom_mm: float | None = None
    between_mm: float | None = None
    gauge_deg: float | None = None
    half_turn: bool = False

    @property
    def deg(self) -> float:
        if self.gauge_deg is not None:
            return self.gauge_deg
        return camber_deg(self.gap_top_mm, self.gap_bottom_mm, self.between_mm)


@dataclass(frozen=True)
class Toe:
    """One pass of the tape; ``is_void`` when it was recorded so."""

    front_mm: float
    rear_mm: float
    pass_no: int = 1
    is_void: bool = False

    @property
    def mm(self) -> float:
        return toe_mm(self.front_mm, self.rear_mm)


@dataclass(frozen=True)
class Turn:
    """What was turned before the readings of ``pass_no``: a SLEEVE or a ROD of one side.

    ``longer_flats`` are sixths of a turn, plus for longer; None where not counted.
    ``at`` is "left", "right", or "across" for the one rod that joins both wheels.
    """

    what: str
    at: str
    pass_no: int
    longer_flats: float | None = None


@dataclass(frozen=True)
class Sheet:
    """A sheet as it was read. ``floor`` is (fall_mm, over_mm, low side) where it slopes.

    ``drive_pass`` is the pass that was read after the test drive, None without one.
    """

    mark_mm: float
    gauge_mark_deg: float = 0.1
    cambers: Sequence[Camber] = ()
    toes: Sequence[Toe] = ()
    turns: Sequence[Turn] = ()
    drive_pass: int | None = None
    floor: tuple[float, float, str] | None = None
    diameter_mm: float | None = None
    limits: Limits = field(default_factory=Limits)
