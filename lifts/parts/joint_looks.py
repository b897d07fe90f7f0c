"""From a joint's answers to the look that is recorded, with what its outcome needs copied in."""

from lifts.joint_card import clamp_lost, full_loss_deg, is_hub, lacks, target_of
from lifts.models import Lacks, Look, WrenchState
from lifts.parts.base import told
from lifts.parts.joint_fields import asks_nut_off
from lifts.parts.joint_wrenches import best_for

MOVED = {Look.Found.TOOK_UP, Look.Found.SLACK, Look.Found.GONE}
TURNED = {Look.Found.FIRM, Look.Found.TOOK_UP, Look.Found.SLACK}


def look_at(joint, form, known, rack) -> Look:
    """Return the unsaved look at a joint; ``known`` is its Before, ``rack`` of that time."""
    bearing = form.bearing_of(joint)
    look = Look(
        joint=joint,
        **_of_joint(joint, bearing),
        **_answered(joint, form),
        hub_bearing=(bearing or None) if is_hub(joint) else None,
        loose_before=known.loose_before,
        clean_since=known.clean_since,
    )
    _count_removals(look, joint, form, known)
    _name_wrench(look, joint, form, rack)
    return look


def _of_joint(joint, bearing):
    return {
        "name": joint.name,
        "family": joint.family,
        "wheel": joint.wheel,
        "is_critical": joint.is_critical,
        "is_thread_locked": bool(joint.thread_locker),
        "target_nm": target_of(joint, bearing),
        "lacks": lacks(joint, bearing),
        "removals_allowed": joint.removals_allowed,
        "is_always_new": joint.always_new,
        "full_loss_deg": full_loss_deg(joint, bearing),
    }


def _answered(joint, form):
    found, moved = form.of(joint, "found"), form.of(joint, "moved")
    return {
        "found": found,
        "moved_twelfths": int(moved) if moved and found in MOVED else None,
        "action": form.of(joint, "action") or "",
        "right_after": found == Look.Found.FIRM or bool(form.of(joint, "right")),
        "pin": form.of(joint, "pin") or "",
        "backed_off": bool(form.of(joint, "backed")),
        "stud_damaged": bool(form.of(joint, "stud")),
    }


def _count_removals(look, joint, form, known):
    if asks_nut_off(joint):
        look.nut_off = bool(form.of(joint, "off"))
        look.removals = known.removals + look.nut_off


def _name_wrench(look, joint, form, rack):
    """Say which wrench turned the nut, and how far it could be believed then."""
    chosen = form.rack.of([form.of(joint, "wrench")])
    if not chosen and not is_turned(look):
        return
    wrench = chosen[0] if chosen else best_for(look.target_nm, form.carried())
    adapter = form.of(joint, "adapter")
    look.wrench_id = wrench and wrench.pk
    look.wrench_state = rack.state_of(wrench) if wrench else WrenchState.UNNAMED.value
    look.adapter_deg = int(adapter) if adapter else None


def move_look(look, there, here) -> None:
    """Let a look be of another cart: ``there`` is the Before of the first one, ``here`` its own.

    Its target stays what it was tightened to. A hub bearing that was read off the wrong
    cart's record, and not seen, is not known. A look of before these counts has none.
    """
    if look.loose_before is not None:
        look.loose_before, look.clean_since = here.loose_before, here.clean_since
    if look.nut_off is not None:
        look.removals = here.removals + look.nut_off
    if look.hub_bearing and there.hub_bearing and here.hub_bearing != look.hub_bearing:
        look.hub_bearing, look.lacks = None, Lacks.BEARING.value


def is_turned(look) -> bool:
    """Whether the nut was put to its torque: one firm with its pin left in was only seen."""
    is_only_seen = look.pin == Look.Pin.UNDISTURBED and look.found == Look.Found.FIRM
    is_put_on = look.found == Look.Found.GONE and look.right_after
    is_turned = look.found in TURNED and not (is_only_seen and not look.action)
    return look.target_nm is not None and (is_turned or is_put_on)


def detail_of(look, wrench="") -> str:
    """Say in one text what more was recorded of a look."""
    return told(
        moved=look.moved_twelfths and f"{look.moved_twelfths}/12 of a turn",
        action=look.action,
        right_when_left=look.right_after,
        pin=look.pin,
        backed_off=look.backed_off,
        stud_damaged=look.stud_damaged,
        nut_off=look.nut_off,
        hub_bearing=look.hub_bearing,
        wrench=wrench,
        wrench_was=look.wrench_state != WrenchState.GOOD and look.wrench_state,
        adapter_at=look.adapter_deg is not None and f"{look.adapter_deg}°",
        **_lost(look),
    )


def _lost(look):
    lost = clamp_lost(look.moved_twelfths, look.full_loss_deg)
    return {lost: True} if lost else {}
