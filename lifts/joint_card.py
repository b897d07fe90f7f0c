"""What the card of a joint says, in a site's units. Asks nothing of the database.

What stands on the kit's sheet comes first; the rules are common practice, no source, but
for the castle nut's: AC 43.13-1B 7-40 f, MS33540J 3 and 4.
"""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from lifts.models import HubBearing, Joint, Lacks
from lifts.preload import full_loss_angle_deg, most_clamp_lost, preload_n
from lifts.proof import is_weaker_galvanised, share_of_target, thread_of
from lifts.proof_words import assumed, share_words
from lifts.torque import (
    read_stages,
    set_for_adapter_nm,
    stage_torques_nm,
    tolerance_band_nm,
    wheel_nut_order,
)
from shared.units import UNITS_OF, printed, shown

Family, Locking = Joint.Family, Joint.Locking
ADAPTER_ANGLES_DEG = (0, 90)
TURN_DEG, TWELFTH_DEG = 360, 30
MOST_TWELFTHS = 6  # "more": how far is not known
SAME_THREAD_MM = 2  # common practice, no source


def is_turned_to_torque(joint, bearing="") -> bool:
    """Whether a torque belongs on the joint at all: not on taper rollers, not on a look alone."""
    return not joint.is_by_look and not (is_hub(joint) and bearing == HubBearing.TAPER)


def is_hub(joint) -> bool:
    return joint.family == Family.HUB_NUTS


def lacks(joint, bearing="") -> str | None:
    """Return what is not known of the joint, so that no look at it can close."""
    if is_hub(joint) and not joint.is_by_look and not bearing:
        return Lacks.BEARING.value
    is_wanting = is_turned_to_torque(joint, bearing) and joint.target_nm is None
    return Lacks.TARGET.value if is_wanting else None


def target_of(joint, bearing="") -> Decimal | None:
    """Return the torque in N.m that the joint is tightened to, None where there is none."""
    is_known = lacks(joint, bearing) is None and is_turned_to_torque(joint, bearing)
    return joint.target_nm if is_known else None


def figure(joint, units) -> str:
    """Return the target with its stages: "40 → 64 → 80 N·m"."""
    if joint.target_nm is None:
        return _("no target: kit sheet needed")
    try:
        torques = stage_torques_nm(joint.target_nm, joint.stages)
    except ValueError:
        torques = (joint.target_nm,)  # an old kit's stages may be in any words
    *said, last = (_torque(torque, units) for torque in torques)
    unit = printed(UNITS_OF[units]["torque"])
    return " → ".join([*(one.removesuffix(f" {unit}") for one in said), last])


def _torque(torque_nm, units):
    """Return a torque to a tenth, whole where it is whole."""
    return shown(Decimal(str(torque_nm)), "torque", units).replace(".0 ", " ")


def thread_words(joint) -> str:
    """Return how many there are, of which thread and grade."""
    return f"{joint.count} × {joint.thread} {joint.grade}".strip().removesuffix(" ×")


def order(joint) -> str:
    """Return in which order the nuts are tightened, numbered clockwise for a wheel's."""
    if joint.family == Family.LUGS:
        try:
            said = "-".join(str(nut) for nut in wheel_nut_order(joint.count))
        except ValueError:
            return joint.get_pattern_display() if joint.pattern else ""
        return _("order %s, clockwise from any nut") % said
    return joint.get_pattern_display() if joint.pattern else ""


def brief(joint) -> list[str]:
    """Return what stands under the figure, one press away from the hand."""
    weight = _("weight on the axle") if joint.weight_on else ""
    locker = ""
    if joint.thread_locker:
        locker = _("thread-lock: %s") % joint.get_thread_locker_display()
    locking = joint.get_locking_display() if joint.locking else ""
    said = (thread_words(joint), order(joint), _stages_unread(joint), weight, locker, locking)
    return [words for words in said if words]


def _stages_unread(joint):
    try:
        read_stages(joint.stages)
    except ValueError:
        return joint.stages
    return ""


def band(joint, units) -> str:
    """Return between which torques the joint will do."""
    try:
        bounds = tolerance_band_nm(joint.target_nm, joint.low_nm, joint.high_nm)
    except ValueError:
        return _("the sheet’s band does not hold its target")
    low, high = (_torque(bound, units) for bound in bounds)
    said = _("between %(low)s and %(high)s") % {"low": low, "high": high}
    if joint.low_nm is None and joint.high_nm is None:
        return _("%s; no band on the sheet, so 10 %% either side") % said
    return said


def proof(joint) -> list[str]:
    """Return the share of proof in words, then what was assumed for it and what weakens it."""
    share = share_of_target(joint)
    if share is None:
        return []
    said = [_("%s of proof") % share_words(share), *assumed(joint, share)]
    if share.is_above_proof():
        said.append(_("above proof: a manager's reason stands with the kit"))
    if is_weaker_galvanised(joint):
        said.append(_("hot-dip galvanised M8 and M10 carry less than their class says"))
    return said


def adapter(joint, wrench, units) -> str:
    """Return what to set with the adapter that hangs with a wrench; empty where none may be."""
    if joint.no_adapter or joint.target_nm is None or wrench is None:
        return ""
    if not wrench.adapter_mm or not wrench.length_mm:
        return ""
    straight, across = (
        _torque(set_for_adapter(joint, wrench, angle), units) for angle in ADAPTER_ANGLES_DEG
    )
    return _(
        "with the %(long)s adapter of %(wrench)s straight on: set %(straight)s; at 90°: %(across)s"
    ) % {
        "long": _length(wrench.adapter_mm, units),
        "wrench": wrench.name,
        "straight": straight,
        "across": across,
    }


def _length(length_mm, units):
    return shown(length_mm, "length", units).replace(".0 ", " ")


def set_for_adapter(joint, wrench, angle_deg) -> float:
    """Return what to set in N.m; see lifts.torque.set_for_adapter_nm."""
    return set_for_adapter_nm(
        joint.target_nm,
        wrench_mm=wrench.length_mm,
        adapter_mm=wrench.adapter_mm,
        angle_deg=angle_deg,
    )


def rules(joint) -> list[str]:
    """Return the joint's special rules: of its family, its locking, its parts."""
    said = [_OF_FAMILY[joint.family]()] if joint.family in _OF_FAMILY else []
    if joint.has_pin:
        said += [
            _("Castle nut: go on to the next slot, never back, and never past the high figure."),
            _("A pin left alone is looked at, never pulled; one pulled is never used again."),
        ]
    if joint.locking == Locking.JAM and joint.family == Family.STEERING:
        said.append(_("Ball end square to its seat while nipping the jam nut."))
    if joint.thread_locker:
        said.append(_("If it moved: strip, clean and lock it again."))
    if joint.always_new:
        said.append(_("New each time it is undone."))
    return said


_OF_FAMILY = {
    Family.LUGS: lambda: _(
        "Dry, clean threads, cone side in; final torque with the tyre on the ground."
    ),
    Family.U_BOLTS: lambda: (
        _("Weight on the axle; crosswise in 3 steps; equal thread showing, within %s mm.")
        % SAME_THREAD_MM
    ),
}


def taper_rule() -> str:
    """Return what takes the place of a torque at an adjusted taper-roller hub."""
    return _("Taper rollers: seat, back off to the maker's end play, then pin. No torque.")


def removals_words(joint, removals) -> str:
    """Return how often a nut was off, of how often it may be."""
    if joint.removals_allowed is None:
        return ""
    said = _("nut taken off %(times)s of %(allowed)s times")
    return said % {"times": removals, "allowed": joint.removals_allowed}


def full_loss_deg(joint, bearing="") -> Decimal | None:
    """Return how far in degrees its nut turns between its target and no clamp.

    None where the grip, the thread or the target is not known.
    """
    thread = thread_of(joint.thread, joint.pitch_mm)
    share = share_of_target(joint)
    if target_of(joint, bearing) is None or not joint.grip_mm or share is None:
        return None
    preload = preload_n(joint.target_nm, share.nut_factor, thread.diameter_mm)
    return Decimal(str(round(full_loss_angle_deg(preload, thread, joint.grip_mm), 2)))


def clamp_lost(moved_twelfths, loss_deg) -> str:
    """Say the most clamp that was lost where a nut moved; empty where that is not known.

    It informs: no outcome and no tag rests on it.
    """
    if not moved_twelfths or not loss_deg:
        return ""
    share = most_clamp_lost(moved_twelfths * TWELFTH_DEG, loss_deg)
    if moved_twelfths >= MOST_TWELFTHS:
        share = 1
    return _("clamp lost: at most %s %%") % round(100 * share)


@dataclass(frozen=True)
class Card:
    """All that the card of one joint says. ``figure`` is empty where no torque belongs."""

    figure: str
    brief: list[str]
    rules: list[str]
    more: list[str]


def card_of(joint, units, *, wrench=None, removals=0) -> Card:
    """Return what the joint's card says; ``wrench`` is the one it would be tightened with."""
    if joint.is_by_look:
        return Card("", brief(joint), [_("By eye: no torque."), *rules(joint)], [])
    return Card(
        figure(joint, units),
        brief(joint),
        rules(joint),
        list(_more(joint, units, wrench, removals)),
    )


def _more(joint, units, wrench, removals):
    if joint.target_nm is not None:
        yield band(joint, units)
        yield from proof(joint)
    said = (adapter(joint, wrench, units), removals_words(joint, removals))
    yield from (words for words in said if words)
    if joint.source:
        yield _("source: %s") % joint.source
