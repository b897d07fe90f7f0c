"""Camber and toe sheets of the demo, worked pass by pass as the app advises at each step."""

from dataclasses import dataclass, field
from decimal import Decimal
from uuid import UUID

from alignment.conditions import LEVEL, PLATES, TICKS
from alignment.correcting import BOTH
from alignment.counting import CAMBERS
from alignment.foretold import foretell
from alignment.geometry import floor_deg
from alignment.judging import judge
from alignment.learning import Learnt
from alignment.more_readings import wanted
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
from alignment.odd import odd_readings
from alignment.reading_lines import lines_of
from alignment.readings import SIDES, Turn
from alignment.settled import Use
from alignment.sheet_values import JAM_NUTS_TIGHT, sheet_so_far, sheet_values
from alignment.specs import Figures
from deploy.demo.answers import Said, measure
from deploy.demo.axles import Axle
from deploy.demo.tapes import BETWEEN, GAUGE_MARK, PRESSURE, Tools

MOST_PASSES = 8
READS = (READ_CAMBER, READ_TOE, READ_AGAIN)
STEP_OF = {TURN_SLEEVE: "sleeve", TURN_ROD: "rod", DRIVE: "drive"}


@dataclass(frozen=True)
class Known:
    """What alignment.known tells of a visit's cart, kept by the story instead of asked anew."""

    figures: Figures
    use: Use | None
    learnt: Learnt


@dataclass
class Turned:
    """What turns did at the carts with each kit of a place, in the order of the story."""

    sheets: dict = field(default_factory=dict)

    def keep(self, slug: str, kit_code: str, cart_id: UUID, seen):
        if seen.rods or seen.sleeves:
            self.sheets.setdefault((slug, kit_code), []).append((cart_id, seen))

    def learnt(self, slug: str, kit_code: str, cart_id: UUID) -> Learnt:
        """Return what alignment.learnt reads of the same sheets."""
        kit = self.sheets.get((slug, kit_code), [])
        own = [one for one in kit if one[0] == cart_id]
        return Learnt(
            rod_cart=[one for _, seen in own for one in seen.rods],
            rod_kit=[one for _, seen in kit for one in seen.rods],
            sleeve_cart=[one for _, seen in own for one in seen.sleeves],
            sleeve_kit=[one for _, seen in kit for one in seen.sleeves],
        )


class SheetSaid(Said):
    """A sheet as typed, in place of alignment.forms.CamberToeForm."""

    def __init__(self, visit, known: Known, tools: Tools, diameter: str, **said):
        super().__init__(visit, {**_before(tools, diameter), **said})
        self.known, self.tools, self.pass_count = known, tools, 1
        self.cleaned_data["camber_adjusts"] = known.figures.camber_adjusts
        self.asks_for_more = False

    @property
    def odd(self):
        return odd_readings(self.lines())

    def lines(self):
        return lines_of(self.cleaned_data, self.pass_count)

    def foretold_lines(self):
        lines = self.lines()
        foretell(lines, sheet_so_far(self), self.known.figures.steering, self.known.learnt)
        return lines

    def sheet_fields(self):
        return sheet_values(self)

    def begin_pass(self, step: str):
        self.pass_count += 1
        self.cleaned_data[f"p{self.pass_count}_step"] = step

    def type_turn(self, at: str, flats: float):
        self._type(f"{at}_turn", Decimal(str(abs(flats))))
        self._type(f"{at}_way", "longer" if flats > 0 else "shorter")

    def type_gauge(self, side: str, k: int, read: str):
        self._type(f"{side}_gauge_{k}", measure(f"{read}°", "angle"))

    def type_gaps(self, side: str, k: int, gaps, *, is_half=False):
        for where, gap in zip(("top", "bottom"), gaps, strict=True):
            self._type(f"{side}_{where}_{k}", measure(gap, "length"))
        self._type(f"{side}_half_{k}", is_half)

    def type_usual(self, camber: str, toe: tuple[str, str]):
        """Type one pass with both wheels alike and every reading the same."""
        for k in (1, 2):
            for side in SIDES:
                self.type_gauge(side, k, camber)
        for k in (1, 2, 3):
            self.type_toe(k, toe)
        self.cleaned_data["driven"] = True
        return self

    def type_toe(self, k: int, tape):
        for end, read in zip(("front", "rear"), tape, strict=True):
            self._type(f"{end}_{k}", measure(read, "length"))

    def _type(self, name, value):
        self.cleaned_data[f"p{self.pass_count}_{name}"] = value


def _before(tools, diameter):
    """Return what is said before measuring, all of it as it should be."""
    side, fall, over = tools.floor or ("", None, None)
    pressures = ("pressure_set", "pressure_left", "pressure_right")
    return {
        "ready": list(TICKS),
        **dict.fromkeys(pressures, measure(PRESSURE[tools.units], "pressure")),
        "floor": PLATES if tools.floor else LEVEL,
        "floor_low_side": side,
        "floor_fall": fall and measure(fall, "length"),
        "floor_over": over and measure(over, "length"),
        "after_kerb_hit": False,
        "mark": tools.mark,
        "gauge_mark": str(GAUGE_MARK),
        "between": measure(BETWEEN[tools.units], "length"),
        "diameter": measure(diameter, "length"),
        "p1_step": "found",
        "jam_nuts": "",
        "wheel_centred": True,
        "driven": False,
        "pull": "none",
        "enough": False,
        "confirmed": False,
        "note": "",
    }


@dataclass
class Mechanic:
    """Works a sheet at an axle; ``turns``: what is off is put right, else it is only read."""

    said: SheetSaid
    axle: Axle
    turns: bool = True
    is_topped_up: bool = False

    @property
    def steering(self):
        return self.said.known.figures.steering

    @property
    def diameter_mm(self):
        return float(self.said.cleaned_data["diameter"].si)

    def work(self) -> SheetSaid:
        self._read((*CAMBERS, "toe"))
        while self.turns and self.said.pass_count < MOST_PASSES and self._go_on():
            pass
        self._close()
        return self.said

    def _go_on(self) -> bool:
        step = self._next_step()
        if step.kind in STEP_OF:
            # once driven only what is proved outside is turned again
            self.said.cleaned_data["enough"] |= step.kind == DRIVE
            self.said.begin_pass(STEP_OF[step.kind])
            self._turn(step.corrections)
            self._read(_moved_by(step))
        elif step.kind in READS:
            self._read(step.names)
        elif step.kind == MORE_READINGS:
            self._read_more()
        else:
            return False
        return True

    def _next_step(self):
        known, sheet = self.said.known, sheet_so_far(self.said)
        return next_step(
            sheet,
            judge(sheet),
            steering=known.figures.steering,
            camber_adjusts=known.figures.camber_adjusts,
            learnt=known.learnt,
            enough=self.said.cleaned_data["enough"],
            is_hit=self.said.cleaned_data["after_kerb_hit"],
        )

    def _turn(self, corrections):
        self.said.cleaned_data["jam_nuts"] = JAM_NUTS_TIGHT
        for one in corrections:
            what = "rod" if one.name == "toe" else "sleeve"
            for at in SIDES if one.at == BOTH else (one.at,):
                self.said.type_turn(at, one.advice.flats)
                turn = Turn(what, at, self.said.pass_count, one.advice.flats)
                self.axle.turn(turn, self.steering, self.diameter_mm)

    def _read_more(self):
        """Read once more what this pass has of it; what still can't be told is left so."""
        if self.is_topped_up:
            self.said.cleaned_data["enough"] = True
        else:
            self.is_topped_up = True
            self._read((*CAMBERS, "toe"), more=True)

    def _read(self, names, *, more=False):
        for side in SIDES:
            if f"camber {side}" in names:
                self._read_camber(side, more)
        if "toe" in names:
            self._read_toe(more)

    def _read_camber(self, side, more):
        tools, random = self.said.tools, self.axle.random
        lean_deg = self.axle.camber_deg[side]
        for k in range(1, 4 if more else tools.cambers + 1):
            if not tools.by_square:
                self.said.type_gauge(side, k, tools.gauge(lean_deg, random))
                continue
            is_half = bool(tools.rim_deg) and k == tools.cambers
            rim_deg = (-tools.rim_deg if is_half else tools.rim_deg) if side == "left" else 0.0
            gaps = tools.gaps(lean_deg + rim_deg - self._floor_deg(side), random)
            self.said.type_gaps(side, k, gaps, is_half=is_half)

    def _floor_deg(self, side):
        """Return how much too little camber a square on the sloping floor shows."""
        if self.said.tools.floor is None:
            return 0.0
        low_side, *_ = self.said.tools.floor
        fall, over = (self.said.cleaned_data[f"floor_{name}"] for name in ("fall", "over"))
        slope_deg = floor_deg(float(fall.si), float(over.si))
        return slope_deg if side == low_side else -slope_deg

    def _read_toe(self, more):
        tools = self.said.tools
        for k in range(1, 6 if more else tools.toes + 1):
            toe_mm = self.axle.toe_mm(self.diameter_mm)
            self.said.type_toe(k, tools.toe(toe_mm, self.axle.random))

    def _close(self):
        """Confirm what is odd, and leave open what more readings would settle."""
        sheet, cleaned = sheet_so_far(self.said), self.said.cleaned_data
        cleaned["confirmed"] = bool(self.said.odd)
        self.said.asks_for_more = self.is_topped_up or bool(wanted(sheet, judge(sheet)))
        cleaned["driven"] = self.said.pass_count == 1


def _moved_by(step):
    """Return what is read again: camber of the wheels turned, toe, or both after the drive."""
    if step.kind == DRIVE:
        return (*CAMBERS, "toe")
    return tuple(one.name for one in step.corrections)
