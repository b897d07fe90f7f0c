"""Whether the rows of joints beside a kit's own say what the changes of the register say."""

from fleet.told_rows import compared
from lifts.actions.extra_joints import joint_row
from lifts.extra_joints import ENDED, JOINT
from lifts.models import Joint
from shared.models import Change


def differences(site):
    """Yield (the change, what the row of its joint says otherwise)."""
    changes = list(Change.objects.filter(site=site, what=JOINT).order_by("received_at", "id"))
    rows = Joint.objects.in_bulk([change.pk for change in changes])
    ends = _ends({change.cart_id for change in changes})
    for change in changes:
        joint = joint_row(change)
        joint.until_at = ends.get(str(change.pk))
        values = {f.attname: getattr(joint, f.attname) for f in joint._meta.concrete_fields}
        yield from compared(change.pk, rows.get(change.pk), values)
    beside = Joint.objects.filter(cart__site=site)
    for joint in beside.exclude(pk__in=Change.objects.filter(what=JOINT).values("pk")):
        yield None, f"no change tells of the joint {joint.pk}"


def _ends(cart_ids):
    """Return {joint: when it was ended}; a cart may have moved to another site by then."""
    ended = Change.objects.filter(what=ENDED, cart_id__in=cart_ids)
    return dict(ended.values_list("value__joint", "done_at"))
