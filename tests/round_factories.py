"""Rounds saved for tests, without filling in forms: facts and lines as the parts make them."""

from decimal import Decimal
from uuid import uuid5

from alignment.parts import CamberToePart
from fleet.actions.rounds import TakenDown, save_round
from lifts.models import (
    BrakeCheck,
    DriveCheck,
    Fitting,
    GreasePart,
    GreaseStroke,
    HubLook,
    HubPlayCheck,
    JointPart,
    LabelCheck,
    Look,
    SpeedRun,
    TyreCheck,
    TyreLine,
)
from lifts.parts import ALL_PARTS
from lifts.pieces import JOINTS
from lifts.wheels import Wheel
from shared.models import new_id
from tests.alignment_factories import GaugeFactory, SheetFactory, ToeFactory, placed

FINE = {
    "brake": {
        "is_pedal_low": False,
        "holds_on_slope": True,
        "cable_free": True,
        "marked_m": Decimal("12"),
        "time_1_s": Decimal("2.5"),
        "stop_1_m": Decimal("6"),
        "time_2_s": Decimal("2.6"),
        "stop_2_m": Decimal("6.5"),
    },
    "label": {"in_place": True, "is_legible": True, "visible_from_seat": True},
    "drive": dict.fromkeys(("clear_at_lock", "clear_at_bump", "runs_straight", "is_quiet"), True),
    "speed": {"length_m": Decimal(50), "time_1_s": Decimal(10), "time_2_s": Decimal(10)},
    "joints": {"stage": "settling", "offered": sorted(JOINTS)},
}
MODELS = {
    "joints": JointPart,
    "grease": GreasePart,
    "tyres": TyreCheck,
    "brake": BrakeCheck,
    "drive": DriveCheck,
    "label": LabelCheck,
    "speed": SpeedRun,
    "hub-play": HubPlayCheck,
}
REAL_PARTS = {part.code: part for part in (*ALL_PARTS, CamberToePart())}
EVERY_PART = tuple(REAL_PARTS)


class Told:
    """Stands for a part and its form: what it records was told beforehand."""

    def __init__(self, code, fact, lines):
        self.code, self.fact, self.lines = code, fact, placed(*lines)
        self.model = type(fact)

    def facts(self, round_fact, form, fact_fields):
        for name, value in fact_fields.items():
            setattr(self.fact, name, value)
        self.fact.id = uuid5(round_fact.pk, self.code)
        self.fact.round = round_fact
        return [(self.fact, self.lines)]

    def outcome(self, fact, lines):
        return REAL_PARTS[self.code].outcome(fact, lines)


def told(code, cart, **changed):
    """Return a part with nothing wrong; ``changed`` are values of its fact, or of a line by name.

    ``found`` maps a joint's name to what was found there in place of firm.
    """
    found = changed.pop("found", {})
    if code == "camber-toe":
        return Told(code, SheetFactory.build(**changed), _sheet_lines())
    values = {**FINE.get(code, {}), **changed}
    return Told(code, MODELS[code](**values), _lines(code, cart, found))


def _kit(cart):
    return Fitting.objects.select_related("kit").filter(cart=cart).latest("done_at").kit


def _lines(code, cart, found):
    if code == "joints":
        return [_look(joint, found.get(joint.name, "firm")) for joint in _kit(cart).joints.all()]
    if code == "grease":
        points = _kit(cart).grease_points.filter(is_rubber=False)
        return [
            GreaseStroke(point=point, name=point.name, found="greased", strokes=3)
            for point in points
        ]
    if code == "tyres":
        return [TyreLine(wheel=wheel, tread_ok=True, wall_ok=True) for wheel in Wheel]
    if code == "hub-play":
        return [HubLook(wheel=wheel, found="no play") for wheel in Wheel]
    return []


def _look(joint, found):
    return Look(
        joint=joint,
        name=joint.name,
        family=joint.family,
        wheel=joint.wheel,
        is_critical=joint.is_critical,
        is_thread_locked=bool(joint.thread_locker),
        found=found,
        right_after=found != "not reached",
        pin="undisturbed" if joint.has_pin else "",
    )


def _sheet_lines():
    gauges = [GaugeFactory.build(side=side) for side in ("left", "right")]
    return [*gauges, *[ToeFactory.build(rear=rear) for rear in ("36 1/16", "36 3/32", "36 1/32")]]


def a_round(cart, *, by, at, parts=EVERY_PART, found=None, ready=(), **visit):
    """Save a round in which every named part was done, and all was well but ``found``.

    ``ready`` are parts that a test has told by itself.
    """
    done = [*ready]
    done += [told(code, cart, found=found or {}) for code in parts if code != "camber-toe"]
    if "camber-toe" in parts:
        done.append(told("camber-toe", cart))
    more = {"id": new_id(), "opened_at": at, **visit}
    return save_round(cart, TakenDown(parts=[(one, None) for one in done], **more), by=by, at=at)
