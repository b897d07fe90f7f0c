"""What happens to kits: an edition is recorded and its rows follow.

``id`` makes a second sending of the same act the first one again; ``done_at`` None is
the moment of arrival.
"""

from decimal import Decimal
from uuid import uuid5

from django.db import transaction

from lifts.models import GreasePoint, Joint, Kit
from lifts.proof import above_proof
from shared.facts import lock_sites, record
from shared.models import Change, new_id

KIT = "kit"
JOINT_DECIMALS = ("pitch_mm", "target_nm", "low_nm", "high_nm", "grip_mm", "nut_factor")
KIT_DECIMALS = ("rise_front_mm", "rise_rear_mm")


class KitKnown(Exception):
    """The site has a kit of that code already."""


class KitReplaced(Exception):
    """A newer edition is in force, or the code differs: nothing was replaced."""


class LiftOrPlain(Exception):
    """An edition would make a lift of a sheet for plain carts, or such a sheet of a lift."""


class AboveProof(Exception):
    """Targets pull bolts past their proof load, and no manager's reason stands for it.

    ``joints`` are (joint, share) of each, the share with the grade and K counted with.
    """

    def __init__(self, joints):
        self.joints = joints
        said = (
            f"{joint.name}: {share.share:.0%} of proof as grade {share.grade},"
            f" K {share.nut_factor:.2f}"
            for joint, share in joints
        )
        super().__init__("; ".join(said))


class TargetOutsideBand(Exception):
    """A joint's target is below its low or above its high torque."""


@transaction.atomic
def add_kit(site, value, *, by, at, done_at=None, id=None):
    """Record a new kit from its whole value and return its row.

    ``value["above_proof"]`` is why targets above proof load may stand, signed by ``by``.

    Raises KitKnown for a code that the site uses already, AboveProof for such targets
    without that reason, TargetOutsideBand.
    """
    refuse_targets(joints_of(value["joints"]), value.get("above_proof", ""))
    lock_sites(site.pk)
    change = Change(id=id or new_id(), site=site, what=KIT, value=value, by=by, done_at=done_at)
    if Kit.objects.filter(site=site, code=value["code"]).exclude(pk=change.pk).exists():
        raise KitKnown(value["code"])
    return _file_kit(change, at)


@transaction.atomic
def replace_kit(kit, value, *, by, at, done_at=None, id=None):
    """Record a new edition of the kit; what was done under the old one stays with it.

    Raises KitReplaced when the kit is not the edition in force, LiftOrPlain, and AboveProof
    and TargetOutsideBand as add_kit does.
    """
    if Kit(front=value["front"], rear=value["rear"]).is_plain != kit.is_plain:
        raise LiftOrPlain(kit)
    refuse_targets(joints_of(value["joints"]), value.get("above_proof", ""))
    lock_sites(kit.site_id)
    change = Change(
        id=id or new_id(), site_id=kit.site_id, what=KIT, value=value, by=by, done_at=done_at
    )
    if Kit.objects.filter(pk=change.pk).exists():
        return _file_kit(change, at)
    ended = Kit.objects.current().filter(pk=kit.pk, code=value["code"])
    if not ended.update(replaced_at=done_at or at):
        raise KitReplaced(kit)
    following = _file_kit(change, at)
    # it arrives no earlier than what came before it, whatever the clock says
    Kit.objects.filter(pk=kit.pk).update(replaced_at=following.from_at)
    return following


def refuse_targets(joints, why):
    """Raise TargetOutsideBand, or AboveProof for targets above proof load without a reason."""
    for joint in joints:
        band = [nm for nm in (joint.low_nm, joint.target_nm, joint.high_nm) if nm is not None]
        if band != sorted(band):
            raise TargetOutsideBand(joint.name)
    above = above_proof(joints)
    if above and not why.strip():
        raise AboveProof(above)


def _file_kit(change, at):
    if record(change, at=at).first:
        kit, joints, points = kit_rows(change)
        kit.save(force_insert=True)
        Joint.objects.bulk_create(joints)
        GreasePoint.objects.bulk_create(points)
    return Kit.objects.get(pk=change.pk)


def kit_rows(change):
    """Return the kit, its joints and its grease points that a change says, unsaved."""
    about = {name: text for name, text in change.value.items() if name not in ("joints", "points")}
    kit = Kit(id=change.pk, site_id=change.site_id, from_at=change.done_at, **about)
    _read_decimals(kit, KIT_DECIMALS)
    joints = joints_of(change.value["joints"])
    points = [GreasePoint(**row) for row in change.value["points"]]
    for rows in (joints, points):
        _in_kit(rows, kit)
    return kit, joints, points


def joints_of(values):
    """Return unsaved joints from their values as plain JSON."""
    joints = [Joint(**row) for row in values]
    for joint in joints:
        _read_decimals(joint, JOINT_DECIMALS)
    return joints


def _in_kit(rows, kit):
    for place, row in enumerate(rows, start=1):
        row.id = uuid5(kit.pk, f"{row._meta.model_name}:{row.name}")
        row.kit, row.place = kit, place


def _read_decimals(row, names):
    """Read a row's figures, to as many places as its columns keep."""
    for name in names:
        text = getattr(row, name)
        places = row._meta.get_field(name).decimal_places
        figure = None if text is None else Decimal(text).quantize(Decimal(10) ** -places)
        setattr(row, name, figure)
