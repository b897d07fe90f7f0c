"""Parts of rounds for tests: facts ready made, without what later columns hold."""

from dataclasses import dataclass
from decimal import Decimal
from uuid import uuid5

import factory

from fleet.kinds import Part, register
from lifts import models as lifts
from lifts.parts.base import numbered
from lifts.wheels import Wheel
from tests.alignment_factories import GaugeFactory, PassesFactory, ToeFactory


@dataclass(eq=False)
class Answered:
    """A registered part whose fact and lines are there already, in place of a form."""

    part: Part
    values: dict
    lines: list

    @property
    def code(self):
        return self.part.code

    @property
    def model(self):
        return self.part.model

    def facts(self, round_fact, form, fact_fields):
        own = {"id": uuid5(round_fact.pk, self.code), "round": round_fact}
        return [(self.model(**{**fact_fields, **own, **self.values}), self.lines)]

    def outcome(self, fact, lines):
        return self.part.outcome(fact, lines)


def answered(code, values, lines=()):
    return Answered(register.parts[code], values, numbered(lines) if lines else [])


def joints(kit_joints, stage, wrench, found_at):
    """Looks at these joints; ``found_at(joint)`` gives what a look was, beside "firm"."""
    families = sorted({joint.family for joint in kit_joints})
    looks = [_look(joint, found_at(joint)) for joint in kit_joints]
    return answered("joints", {"offered": families, "stage": stage, "wrench": wrench}, looks)


def _look(joint, said):
    about = {
        "found": "firm",
        "right_after": True,
        "pin": "undisturbed" if joint.has_pin else "",
        **said,
    }
    return lifts.Look(
        joint=joint,
        name=joint.name,
        family=joint.family,
        wheel=joint.wheel,
        is_critical=joint.is_critical,
        is_thread_locked=bool(joint.thread_locker),
        **about,
    )


def grease(points, strokes):
    lines = [
        lifts.GreaseStroke(
            point=point, name=point.name, found="greased", strokes=strokes, clean_seen=True
        )
        for point in points
        if not point.is_rubber
    ]
    return answered("grease", {"lubricant": "lithium complex, NLGI 2"}, lines)


def label(*, in_place=True, covered_by=""):
    said = {
        "position": "dash, right of the column",
        "in_place": in_place,
        "is_legible": in_place,
        "visible_from_seat": in_place and not covered_by,
        "covered_by": covered_by,
    }
    return answered("label", said)


def brake(*, stop_runs=False):
    said = {"is_pedal_low": False, "holds_on_slope": True, "cable_free": True}
    if stop_runs:
        said |= {"marked_typed": "40 ft", "marked_m": Decimal("12.192")}
        said |= {"time_1_s": Decimal("2.0"), "stop_1_typed": "14 ft", "stop_1_m": Decimal("4.267")}
        said |= {"time_2_s": Decimal("2.1"), "stop_2_typed": "13 ft", "stop_2_m": Decimal("3.962")}
    return answered("brake", said)


def tyres(pressure_psi):
    kpa = (Decimal(pressure_psi) * Decimal("6.894757")).quantize(Decimal("0.001"))
    lines = [
        lifts.TyreLine(
            wheel=wheel,
            found_typed=f"{pressure_psi} psi",
            found_kpa=kpa,
            set_typed=f"{pressure_psi} psi",
            set_kpa=kpa,
            tread_ok=True,
            wall_ok=True,
        )
        for wheel in Wheel
    ]
    return answered("tyres", {}, lines)


def camber_toe(camber_deg, rear):
    """A sheet of one pass, all seen to: camber by gauge, toe in 32nds with the front at 36 in."""
    values = factory.build(dict, FACTORY_CLASS=PassesFactory, driven=True)
    for name in ("done_at", "written_at"):
        del values[name]
    about = {"pass_no": 1, "stage": "found"}
    lines = [
        GaugeFactory.build(
            side=side, gauge_deg=Decimal(camber_deg), gauge_typed=camber_deg, **about
        )
        for side in ("left", "right")
    ]
    lines += [ToeFactory.build(front="36", rear=rear, **about) for _ in range(3)]
    return answered("camber-toe", values, lines)


def hub_play():
    return answered("hub-play", {}, [lifts.HubLook(wheel=w, found="no play") for w in Wheel])


def speed(seconds):
    said = {"length_typed": "400 ft", "length_m": Decimal("121.92")}
    said |= {"time_1_s": seconds, "time_2_s": seconds + Decimal("0.3")}
    return answered("speed", {**said, "conditions": "one aboard, charged, level"})
