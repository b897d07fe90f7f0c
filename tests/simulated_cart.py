"""A cart whose camber and toe are known, measured and turned as next_step says."""

import random
from dataclasses import dataclass, field, replace
from math import radians, tan

from alignment.advice import Rod, Sleeve, Steering, formula_change, toe_moved_mm
from alignment.judging import judge
from alignment.learning import Learnt
from alignment.next_step import (
    DRIVE,
    MORE_READINGS,
    READ_AGAIN,
    READ_CAMBER,
    READ_TOE,
    TURN_ROD,
    TURN_SLEEVE,
    next_step,
)
from alignment.readings import ROD, SIDES, SLEEVE, Camber, Sheet, Toe, Turn

INCH_MM = 25.4
BETWEEN_MM = 12 * INCH_MM
STEERING = Steering(
    Rod(1.25, is_double=False, arm_mm=4.5 * INCH_MM, is_ahead=True),
    Sleeve(1.25, is_double=True, knuckle_mm=5.5 * INCH_MM),
    rod_height_mm=1.75 * INCH_MM,
)


@dataclass
class SimulatedCart:
    """What the cart truly is, and how far a flat truly goes as a share of the formula."""

    camber_deg: dict
    toe_mm: float
    rod_share: float = 1.0
    sleeve_share: float = 1.0
    steering: Steering = STEERING
    diameter_mm: float = 22 * INCH_MM
    repeat_deg: float = 0.10
    repeat_mm: float = 0.02 * INCH_MM
    chance: random.Random = field(default_factory=lambda: random.Random(1))

    def camber(self, side, pass_no, mark_mm):
        slant_deg = self.camber_deg[side] + self.chance.gauss(0, self.repeat_deg)
        gap_mm = 40 + BETWEEN_MM * tan(radians(slant_deg))
        return Camber(side, pass_no, 40.0, to_the_nearest(gap_mm, mark_mm), BETWEEN_MM)

    def toe(self, pass_no, mark_mm):
        front_mm = 900 + self.chance.uniform(0, 20)
        rear_mm = front_mm + self.toe_mm + self.chance.gauss(0, self.repeat_mm)
        ends = (to_the_nearest(end_mm, mark_mm) for end_mm in (front_mm, rear_mm))
        return Toe(*ends, pass_no)

    def turn(self, turn):
        change = formula_change(turn, self.steering, self.diameter_mm)
        if turn.what == ROD:
            self.toe_mm += self.rod_share * change
            return
        self.camber_deg[turn.at] += self.sleeve_share * change
        self.toe_mm += toe_moved_mm(self.sleeve_share * change, self.steering, self.diameter_mm)


def to_the_nearest(mm, mark_mm):
    return mark_mm * round(mm / mark_mm)


@dataclass
class Mechanic:
    """Does as told, and keeps the sheet and each step."""

    cart: SimulatedCart
    sheet: Sheet
    learnt: Learnt = field(default_factory=Learnt)
    camber_adjusts: str = "sleeve"
    readings: int = 3
    pass_no: int = 1
    steps: list = field(default_factory=list)

    def next(self):
        return next_step(
            self.sheet,
            judge(self.sheet),
            steering=self.cart.steering,
            camber_adjusts=self.camber_adjusts,
            learnt=self.learnt,
        )

    def work(self, most=60):
        """Do step after step until there is none to do; the steps done, the last one undone."""
        while len(self.steps) < most:
            self.steps.append(self.next())
            if not self.do(self.steps[-1]):
                break
        return self.steps

    def do(self, step):
        if step.kind in (READ_CAMBER, READ_TOE, READ_AGAIN):
            self.read(step.names, self.readings)
        elif step.kind == MORE_READINGS:
            self.read_more(step.asks)
        elif step.kind in (TURN_SLEEVE, TURN_ROD):
            self.turn(SLEEVE if step.kind == TURN_SLEEVE else ROD, step.corrections)
        elif step.kind == DRIVE:
            self.pass_no += 1
            self.sheet = replace(self.sheet, drive_pass=self.pass_no)
        else:
            return False
        return True

    def turn(self, what, corrections):
        self.pass_no += 1
        for correction in corrections:
            for at in SIDES if correction.at == "both" else (correction.at,):
                turn = Turn(what, at, self.pass_no, correction.advice.flats)
                self.cart.turn(turn)
                self.sheet = replace(self.sheet, turns=[*self.sheet.turns, turn])

    def read(self, names, count):
        for name in names:
            self._put(name, [self._reading(name) for _ in range(count)])

    def read_more(self, asks):
        finest_mm = min(one.mark for one in asks.values())
        if finest_mm < self.sheet.mark_mm:
            self.sheet = replace(self.sheet, mark_mm=finest_mm)
        for name, one in asks.items():
            sides = SIDES if name == "side to side" else (name.removeprefix("camber "),)
            each = ("toe",) if name == "toe" else [f"camber {side}" for side in sides]
            self.read(each, one.count)

    def _reading(self, name):
        if name == "toe":
            return self.cart.toe(self.pass_no, self.sheet.mark_mm)
        return self.cart.camber(name.removeprefix("camber "), self.pass_no, self.sheet.mark_mm)

    def _put(self, name, readings):
        """Keep these in place of what was read of the value in this pass."""
        if name == "toe":
            before = [toe for toe in self.sheet.toes if toe.pass_no != self.pass_no]
            self.sheet = replace(self.sheet, toes=[*before, *readings])
            return
        side = name.removeprefix("camber ")
        others = [
            one for one in self.sheet.cambers if (one.side, one.pass_no) != (side, self.pass_no)
        ]
        self.sheet = replace(self.sheet, cambers=[*others, *readings])
