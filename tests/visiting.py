"""Whole rounds for tests, through the action that the round page calls."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

from fleet.actions import rounds
from tests import answered as answers

EVERYTHING = (
    "joints",
    "grease",
    "tyres",
    "camber-toe",
    "brake",
    "stop-run",
    "label",
    "speed",
    "hub-play",
)


def firm(joint):
    return {}


def parts_of(kit, names, *, looks=firm, families=None, stage="settling"):
    """Return the named parts, all found good but for what ``looks(joint)`` says."""
    joints = [j for j in kit.joints.all() if families is None or j.family in families]
    makers = {
        "joints": lambda: answers.joints(joints, stage, "W-1", looks),
        "grease": lambda: answers.grease(list(kit.grease_points.all()), 3),
        "tyres": lambda: answers.tyres(20),
        "camber-toe": lambda: answers.camber_toe("0.1", "36 3/16"),
        "brake": lambda: answers.brake(stop_runs="stop-run" in names),
        "label": answers.label,
        "speed": lambda: answers.speed(Decimal("14.6")),
        "hub-play": answers.hub_play,
    }
    return [makers[name]() for name in names if name in makers]


def visit(cart, parts, *, by, at, id=None, minutes=20, **about):
    """Save a round with these parts, opened ``minutes`` before."""
    taken = rounds.TakenDown(
        id=id or uuid4(),
        opened_at=at - timedelta(minutes=minutes),
        parts=[(part, None) for part in parts],
        **about,
    )
    return rounds.save_round(cart, taken, by=by, at=at)
