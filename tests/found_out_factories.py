"""Rounds of looks with named wrenches, for tests of what a wrench found out spoilt."""

from decimal import Decimal

from fleet.actions.rounds import TakenDown, save_round
from lifts.actions.wrenches import add_certificate, add_event, certificate_points
from lifts.models import JointPart, Look
from lifts.pieces import JOINTS
from shared.models import new_id
from tests.round_factories import Told
from tests.wrench_factories import SETS_NM, a_quick_check


def a_look(joint, wrench, found="firm", **about):
    """A look at a joint, put to its target with a wrench that counted as good."""
    values = {
        "joint": joint,
        "name": joint.name,
        "family": joint.family,
        "wheel": joint.wheel,
        "is_critical": joint.is_critical,
        "found": found,
        "right_after": found != "not reached",
        "pin": "renewed" if joint.has_pin else "",
        "wrench": wrench,
        "wrench_state": "good",
        "target_nm": joint.target_nm,
        **about,
    }
    return Look(**values)


def a_joint_round(cart, by, at, *looks, told_at=None, **visit):
    """Save a round of these looks; return its joints part."""
    part = Told("joints", JointPart(stage="recurring", offered=sorted(JOINTS)), looks)
    about = {"id": new_id(), "opened_at": at, "done_at": at, "parts": [(part, None)], **visit}
    save_round(cart, TakenDown(**about), by=by, at=told_at or at)
    return part.fact


def certified(wrench, by, at, *, found="0.01", left="0.01", told_at=None):
    """A certificate of that day with one error at three torques, told then or later."""
    errors = Decimal(found), Decimal(left)
    points = certificate_points([(f"{nm} N.m", Decimal(nm), *errors) for nm in SETS_NM])
    about = {"number": "C-2", "laboratory": "Lab", "tolerance": Decimal("0.04")}
    return add_certificate(wrench, about, points, by=by, done_at=at, at=told_at or at)


def checked(wrench, by, at, read="50"):
    """A quick check in which the tester reads so much of 50 N.m."""
    return a_quick_check(wrench, by, at, read=read, done_at=at)


def dropped(wrench, by, at, told_at=None):
    return add_event(wrench, "dropped", by=by, done_at=at, at=told_at or at)
