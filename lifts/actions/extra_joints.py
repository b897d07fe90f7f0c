"""What happens to a joint that the kit's list lacks: seen, taken up or declined, ended.

A decision is a change of the cart's register; the joint's row follows it. ``id`` makes a
second sending of the same act the first one again.
"""

from uuid import UUID

from django.db import transaction

from fleet.actions.register import change_of
from fleet.kinds import Cut
from lifts.actions.kits import joints_of, refuse_targets
from lifts.extra_joints import DECIDED, DECLINED, ENDED, JOINT, decided
from lifts.models import Joint, JointSeen
from lifts.visit_kit import joints_on, kit_of
from shared.facts import lock_sites, record, record_all
from shared.models import Change, new_id

ABOUT = ("seen", "kit", "above_proof")
LIFT_GONE = "The lift that it was found on is off"


class NotLifted(Exception):
    """No lift is on the cart, so that there is no list for the joint to stand beside."""


class JointDecided(Exception):
    """A manager decided on the joint before, or what was seen was taken back."""


class JointListed(Exception):
    """The cart's list has a joint of that name, or the lugs of that wheel, already."""


class JointOver(Exception):
    """The joint was ended before."""


def see_joint(cart, about, *, by, at, id=None, **when):
    """Record a joint that the list lacks, as seen at the cart."""
    seen = JointSeen(id=id or new_id(), site_id=cart.site_id, cart=cart, by=by, **about, **when)
    return record(seen, at=at).fact


@transaction.atomic
def take_up_joint(seen, value, *, by, at, reason="", id=None):
    """Put a joint that was seen beside the kit's own on its cart, and return its row.

    ``value`` is the joint as lifts.kit_lines reads it, with ``above_proof``: why a target
    above proof load may stand. Rounds opened from then on ask for it.

    Raises NotLifted, JointDecided, JointListed, AboveProof and TargetOutsideBand.
    """
    cart, id = seen.cart, id or new_id()
    lock_sites(cart.site_id)
    kit = kit_of(cart, Cut.known_now(at))
    if kit is None:
        raise NotLifted(cart)
    value = {**value, "seen": str(seen.pk), "kit": str(kit.pk)}
    change = change_of(cart.pk, cart.site_id, JOINT, value, by=by, reason=reason, id=id)
    if not Change.objects.filter(pk=id).exists():
        refuse_targets([joint_row(change)], value.get("above_proof", ""))
        _refuse_decided(seen, at)
        _refuse_listed(joint_row(change), joints_on(cart, Cut.known_now(at)))
        _end_those_of_former_lifts(cart, value["name"], by=by, at=at)
    if record(change, at=at).first:
        joint_row(change).save(force_insert=True)
    return Joint.objects.get(pk=id)


@transaction.atomic
def decline_joint(seen, *, reason, by, at, id=None):
    """Leave a joint that was seen off the list. Raises JointDecided."""
    cart, id = seen.cart, id or new_id()
    lock_sites(cart.site_id)
    value = {"name": seen.name, "seen": str(seen.pk)}
    change = change_of(cart.pk, cart.site_id, DECLINED, value, by=by, reason=reason, id=id)
    if not Change.objects.filter(pk=id).exists():
        _refuse_decided(seen, at)
    return record(change, at=at).fact


@transaction.atomic
def end_joint(joint, *, reason, by, at, id=None):
    """Take a joint beside the kit's own off its cart's list. Raises JointOver."""
    lock_sites(joint.cart.site_id)
    id = id or new_id()
    is_sent_again = Change.objects.filter(pk=id).exists()
    if not is_sent_again and not Joint.objects.filter(pk=joint.pk, until_at=None).exists():
        raise JointOver(joint)
    [ended] = _end([joint], joint.cart, reason, by=by, at=at, id=id)
    return ended


def joint_row(change):
    """Return the joint that a change says, unsaved, as yet without an end."""
    columns = {name: text for name, text in change.value.items() if name not in ABOUT}
    [joint] = joints_of([columns])
    joint.id, joint.kit_id, joint.cart_id = change.pk, UUID(change.value["kit"]), change.cart_id
    # it stands on no sheet, so in no place of one
    joint.place, joint.from_at = 0, change.done_at
    return joint


def _refuse_decided(seen, at):
    is_standing = JointSeen.objects.standing().filter(pk=seen.pk).exists()
    changes = Change.objects.filter(what__in=DECIDED, cart_id=seen.cart_id)
    if not is_standing or seen.pk in decided(changes):
        raise JointDecided(seen)


def _refuse_listed(joint, listed):
    for other in listed:
        is_named = other.name.casefold() == joint.name.casefold()
        are_lugs = joint.family == other.family == Joint.Family.LUGS
        if is_named or (are_lugs and other.wheel == joint.wheel):
            raise JointListed(other.name)


def _end_those_of_former_lifts(cart, name, *, by, at):
    """End what a lift long off left behind under the name, so that it may be taken up anew."""
    left = Joint.objects.filter(cart=cart, name=name, until_at=None)
    _end(list(left), cart, LIFT_GONE, by=by, at=at)


def _end(joints, cart, reason, *, by, at, id=None):
    changes = [
        change_of(
            cart.pk,
            cart.site_id,
            ENDED,
            {"joint": str(joint.pk), "name": joint.name},
            by=by,
            reason=reason,
            id=id or new_id(),
        )
        for joint in joints
    ]
    filed = record_all([(change, ()) for change in changes], at=at)
    for joint, one in zip(joints, filed, strict=True):
        Joint.objects.filter(pk=joint.pk, until_at=None).update(until_at=one.fact.done_at)
    return [one.fact for one in filed]
