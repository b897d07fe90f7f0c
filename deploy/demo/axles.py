"""The true front axles of the demo's carts: how they lean, wear, are struck and are turned.

No mechanic knows these; what they read of them is in ``tapes``. Signs as in alignment.
"""

from dataclasses import dataclass, field
from datetime import date
from math import exp, sqrt
from random import Random
from uuid import UUID

from alignment.advice import formula_change, toe_moved_mm
from alignment.geometry import toe_from_deg_mm, toe_total_deg
from alignment.readings import SIDES, SLEEVE, Turn

# what a flat really does, as a share of the formula: joints give, threads have play
TRUE_SHARE = {
    "harrow-4": {"sleeve": 0.85, "rod": 0.88},
    "lark-3": {"sleeve": 0.92, "rod": 0.81},
    "tamsin-5": {"rod": 0.85},
}
SHARE_SCATTER = 0.02
HOURS_TO_SETTLE = 12.0
WANDER_CAMBER_DEG, WANDER_TOE_DEG, WANDER_DAYS = 0.04, 0.02, 30.0


@dataclass(frozen=True)
class Blow:
    """What moved an axle on a day: a kerb, a stump, a bent arm."""

    day: date
    left_deg: float = 0.0
    right_deg: float = 0.0
    toe_deg: float = 0.0


@dataclass
class Axle:
    """One front axle: each wheel's camber and the total toe, in degrees, on a day."""

    random: Random
    day: date
    kit_code: str
    camber_deg: dict
    toe_deg: float
    settles_deg: float
    hours: float
    blows: list[Blow] = field(default_factory=list)

    def live(self, day: date, hours: float):
        """Let it settle, wear and be struck until a day with that use."""
        self._settle(hours - self.hours)
        self._wander((day - self.day).days)
        for blow in [one for one in self.blows if one.day <= day]:
            self.blows.remove(blow)
            self.camber_deg["left"] += blow.left_deg
            self.camber_deg["right"] += blow.right_deg
            self.toe_deg += blow.toe_deg
        self.day, self.hours = day, hours

    def _settle(self, run_hours):
        """Sagging springs lean the tops in, most of it in the first hours."""
        part = self.settles_deg * (1 - exp(-max(run_hours, 0) / HOURS_TO_SETTLE))
        self.settles_deg -= part
        for side in SIDES:
            self.camber_deg[side] += part

    def _wander(self, days):
        far = sqrt(max(days, 0) / WANDER_DAYS)
        for side in SIDES:
            self.camber_deg[side] += self.random.gauss(0, WANDER_CAMBER_DEG * far)
        self.toe_deg += self.random.gauss(0, WANDER_TOE_DEG * far)

    def toe_mm(self, diameter_mm: float) -> float:
        return toe_from_deg_mm(self.toe_deg, diameter_mm)

    def turn(self, turn: Turn, steering, diameter_mm: float):
        """Turn a sleeve or a rod; a sleeve moves toe as well."""
        share = TRUE_SHARE[self.kit_code][turn.what] + self.random.gauss(0, SHARE_SCATTER)
        change = share * formula_change(turn, steering, diameter_mm)
        if turn.what == SLEEVE:
            self.camber_deg[turn.at] += change
            change = toe_moved_mm(change, steering, diameter_mm) or 0.0
        self.toe_deg = toe_total_deg(self.toe_mm(diameter_mm) + change, diameter_mm)


def axle_of(cart_id: UUID, kit_code: str, day: date, hours: float) -> Axle:
    """Return an axle as a kit was just put on, the same for the same cart and day."""
    random = Random(f"{cart_id} axle")
    is_turned = "sleeve" in TRUE_SHARE[kit_code]
    low, high = (-1.1, 0.8) if is_turned else (-0.12, 0.16)
    cambers = {side: random.uniform(low, high) for side in SIDES}
    toe_deg = random.uniform(-0.3, 0.5)
    settles_deg = -random.uniform(0.04, 0.16 if is_turned else 0.06)
    return Axle(random, day, kit_code, cambers, toe_deg, settles_deg, hours)
