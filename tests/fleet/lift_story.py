"""Something of every kind that the lifts of a fleet record beside rounds, for bundles."""

from decimal import Decimal

from lifts.actions.extra_joints import decline_joint, see_joint, take_up_joint
from lifts.actions.speed_classes import claim_class, set_usual
from lifts.actions.wrenches import strike_of_wrench
from tests.fleet.bundling import on
from tests.found_out_factories import a_joint_round, a_look, certified, checked, dropped
from tests.lift_factories import joint_value
from tests.round_factories import a_round, told
from tests.stability_factories import a_measure
from tests.wrench_factories import a_good_wrench

KINDS = {
    "lifts.brakecheck",
    "lifts.drivecheck",
    "lifts.speedrun",
    "lifts.greasepart",
    "lifts.stabilitymeasure",
    "lifts.jointseen",
    "lifts.wrenchcertificate",
    "lifts.wrenchcheck",
    "lifts.wrenchevent",
}


def tell_of_lifts(fleet, cart):
    """Let a wrench be found out, joints be decided on, a cart be weighed, run and braked."""
    who, manager = {"by": fleet.mechanic}, {"by": fleet.manager}
    wrench = a_good_wrench(fleet.site, fleet.manager, on(3, 4), name="=TW+1")
    checked(wrench, fleet.mechanic, on(3, 5))
    frame = fleet.kit.joints.get(name="front frame")
    a_joint_round(cart, fleet.mechanic, on(3, 6), a_look(frame, wrench, nut_off=True, removals=1))
    certified(wrench, fleet.manager, on(3, 8), found="-0.14", left="0")
    mistaken = dropped(wrench, fleet.mechanic, on(3, 9))
    strike_of_wrench(mistaken, reason="Another one", at=on(3, 9, 10), **manager)
    dropped(wrench, fleet.mechanic, on(3, 10))
    seen = [see_joint(cart, _joint(name), at=on(3, 11), **who) for name in ("eye", "hook")]
    take_up_joint(seen[0], joint_value("eye", target="45 N.m"), at=on(3, 12), **manager)
    decline_joint(seen[1], reason="Bears no load", at=on(3, 12), **manager)
    set_usual(fleet.site, "golf-car", True, reason="Board", at=on(3, 12), **manager)
    claim_class(cart, "none", reason="Private path", at=on(3, 12), **manager)
    steps = [("12 in", "40 lb"), ("18 in", "62 lb")]
    lengths = {"cg": "", "wheelbase": "66 in", "hub_height": "9 in"}
    a_measure(cart, fleet.mechanic, at=on(3, 13), steps=steps, is_lifted=True, **lengths)
    brake = told("brake", cart, is_even=True, reference_g=Decimal("0.3"), reference_said="plain")
    parts = ("drive", "speed", "grease", "label")
    a_round(cart, at=on(3, 14), parts=parts, ready=[brake], **who)


def _joint(name):
    return {"name": name, "family": "other-joints"}
