"""What the demo's mechanics say of each part of a round.

Parts read it from stand-ins of their forms, already valid, so that the facts are theirs.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from functools import cache
from typing import Any
from uuid import UUID

from fleet.kinds import Cut, Part, register
from fleet.models import Cart
from lifts.parts.grease_form import in_the_points
from shared.models import Site
from shared.units import SI_UNITS, Measure, read_quantity

INCH_MM = Decimal("25.4")
LITHIUM, POLYUREA = ("lithium complex, NLGI 2", "lithium complex"), ("polyurea, NLGI 2", "polyurea")


@cache
def measure(text: str, quantity: str) -> Measure:
    """Return what a person typed, unit and all."""
    return read_quantity(text, quantity, SI_UNITS[quantity])


@dataclass
class Attending:
    """A visit as the parts of its round ask for it; ``carried`` are wrenches of the rack."""

    cart: Cart
    site: Site
    at: datetime
    stage: str
    corrects: UUID | None = None
    rack: Any = None
    memory: Any = None
    carried: list = field(default_factory=list)

    @property
    def known_by(self):
        return self.at

    @property
    def opening(self):
        return Cut(self.at, self.at)

    def once(self, ask):
        return ask(self)


@dataclass(eq=False)
class Answer:
    """A part of a round with what makes its answers ready; ``recorded`` is what came of it."""

    part: Part
    form: Callable = lambda visit: None
    recorded: list = field(default_factory=list)

    @property
    def code(self):
        return self.part.code

    @property
    def model(self):
        return self.part.model

    def facts(self, round_fact, form, fact_fields):
        self.recorded = self.part.facts(round_fact, form, fact_fields)
        return self.recorded

    def outcome(self, fact, lines):
        return self.part.outcome(fact, lines)

    def ready(self, visit):
        return self, self.form(visit)


class Said:
    """Valid answers in place of a form."""

    is_left_out = False

    def __init__(self, visit, said):
        self.visit, self.cleaned_data = visit, said


def answer(code, said):
    return Answer(register.parts[code], lambda visit: Said(visit, said))


class JointsSaid(Said):
    """Looks at these joints; ``found_at(joint)`` says what is other than firm, as a form does."""

    def __init__(self, visit, joints, found_at):
        super().__init__(visit, {joint.pk: _firm(joint) | found_at(joint) for joint in joints})
        self.joints, self.rack, self.rack_then = joints, visit.rack, visit.rack
        self.before = visit.memory.looks_before(visit)

    def asked(self):
        return self.joints

    def bearing_of(self, joint):
        return self.of(joint, "bearing") or self.before.of(joint).hub_bearing

    def offered(self):
        return sorted({joint.family for joint in self.joints})

    def carried(self):
        return self.visit.carried

    def of(self, joint, name):
        return self.cleaned_data[joint.pk].get(name)


def _firm(joint):
    return {"found": "firm", "pin": "undisturbed" if joint.has_pin else ""}


def joints(kit_joints, found_at):
    part = register.parts["joints"]
    return Answer(part, lambda visit: JointsSaid(visit, kit_joints, found_at))


class GreaseSaid(Said):
    """Points greased; ``blocked`` names those that took none, ``alone`` those asked for alone."""

    def __init__(self, visit, points, said, blocked, is_whole):
        super().__init__(visit, said)
        self.points, self.blocked, self.is_whole = points, blocked, is_whole
        last = visit.memory.last_grease(visit)
        self.thickener_before = last and in_the_points(last)

    def of(self, point, name):
        if point.name in self.blocked:
            return "blocked" if name == "found" else None
        told = {"found": "greased", "strokes": self.cleaned_data["strokes"], "clean": True}
        return told.get(name)

    def weight_on(self, point):
        return point.weight_on


def grease(points, strokes, *, lubricant=LITHIUM, blocked=(), alone=()):
    said = {"lubricant": lubricant[0], "thickener": lubricant[1], "strokes": strokes}
    said["grams_a_stroke"] = Decimal("1.20")
    greased = [point for point in points if not point.is_rubber]
    asked = [point for point in greased if not alone or point.name in alone]
    is_whole = len(asked) == len(greased)
    return Answer(
        register.parts["grease"], lambda visit: GreaseSaid(visit, asked, said, blocked, is_whole)
    )


LETTERS = {"inch": ("1/8 in", "1/4 in", "29 in"), "metric": ("3.2 mm", "6 mm", "740 mm")}


def label(condition="clear", *, letters=("", "", ""), photo=False, batch=""):
    """A label; ``letters``: heights of a capital and of the signal word, and from where read."""
    letters, signal_word, seat = (text and measure(text, "length") for text in letters)
    said = {
        "condition": condition,
        "visible_from_seat": condition not in ("gone", "covered"),
        "place": "dash, right",
        "position": "",
        "covered_by": "",
        "uncovered": False,
        "replaced": False,
        "batch": batch or "L-25",
        "photo_seat": photo,
        "number_in_picture": photo,
        "letters": letters or None,
        "signal_word": signal_word or None,
        "seat": seat or None,
    }
    return answer("label", said)


STOPS = {
    "inch": ("40 ft", ("14 ft", "13.5 ft")),
    "metric": ("12 m", ("4.2 m", "4.1 m")),
}


def brake(*, stop_runs=False, units="inch", stops=()):
    """A brake as it should be; ``stops`` are the lengths to a stop where they are not usual."""
    said = {"is_pedal_low": False, "holds_on_slope": True, "cable_free": True}
    said |= {"is_even": True, "jam_nut_nipped": True, "bracket_moved": None}
    said |= dict.fromkeys(("travel_before", "travel_after", "marked", "stop_1", "stop_2"))
    said |= dict.fromkeys(("time_1_s", "time_2_s"))
    if stop_runs:
        marked, usual = STOPS[units]
        first, second = (measure(stop, "length") for stop in stops or usual)
        said |= {"marked": measure(marked, "length"), "stop_1": first, "stop_2": second}
        said |= {"time_1_s": Decimal("2.0"), "time_2_s": Decimal("2.1")}
    return answer("brake", said)


class WheelsSaid(Said):
    def of(self, wheel, name):
        return self.cleaned_data[name]


def tyres(pressure_psi):
    pressure = measure(f"{pressure_psi} psi", "pressure")
    said = {"found": pressure, "set": pressure, "tread": True, "wall": True}
    return Answer(register.parts["tyres"], lambda visit: WheelsSaid(visit, said))


def hub_play():
    said = {"found": "no play"}
    return Answer(register.parts["hub-play"], lambda visit: WheelsSaid(visit, said))


def speed(length, there_s, back_s, conditions="one aboard, charged, level"):
    said = {"length": measure(length, "length"), "conditions": conditions}
    said |= {"time_1_s": Decimal(there_s), "time_2_s": Decimal(back_s)}
    return answer("speed", said)


def drive(driven):
    pressed = ("clear_at_lock", "clear_at_bump", "runs_straight", "is_quiet")
    return answer("drive", dict.fromkeys(pressed, True) | {"driven": measure(driven, "distance")})
