"""The bundle's tables of kits: each edition with its time in force, and each of its joints."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import moment
from fleet.bundle.columns import MOMENT, YES_NO, Column, Table, number
from fleet.bundle.shapes import read_off
from lifts.actions import KIT, kit_rows
from shared.models import Change

OF_KIT = (
    Column("code", _("its short name in rules")),
    Column("name", _("the lift")),
    Column("edition", _("edition of the maker's instructions")),
    Column("front", _("kind of lift in front")),
    Column("rear", _("kind of lift in the rear")),
    number("rise_front_mm", _("rise in front by the maker"), "mm"),
    number("rise_rear_mm", _("rise in the rear by the maker"), "mm"),
)


def _editions(scope):
    """Yield (change, its kit unsaved, its joints) of the site, in order of time."""
    for change in scope.standing(Change).filter(site=scope.site, what=KIT):
        kit, joints, _points = kit_rows(change)
        yield change, kit, joints


def kit_table_rows(scope):
    editions = list(_editions(scope))
    following = {}
    for change, kit, _joints in reversed(editions):
        until = following.get(kit.code)
        following[kit.code] = change.done_at
        yield {
            "kit": change.pk,
            **read_off(kit, OF_KIT),
            "has_sheet": bool(kit.sheet),
            "from_at": moment(change.done_at, scope.zone),
            "until_at": moment(until, scope.zone),
            "by": scope.name(change.by_id),
        }


KITS = Table(
    "kits.csv",
    _("every edition of every kit of the site, and when it was in force; newest first"),
    (
        Column("kit", _("the entry that brought this edition"), field="id"),
        *OF_KIT,
        Column("has_sheet", _("text of the maker's instructions was put down"), YES_NO),
        Column("from_at", _("in force from"), MOMENT),
        Column("until_at", _("a newer edition from then on; empty: in force"), MOMENT),
        Column("by", _("who put it in force")),
    ),
    kit_table_rows,
    per_cart=False,
    entry="kit",
    key=("kit",),
)


def kit_joint_rows(scope):
    for _change, kit, joints in _editions(scope):
        named = {"kit": kit.pk, "code": kit.code, "edition": kit.edition}
        for joint in joints:
            yield {**named, "joint": joint.name, **read_off(joint, OF_JOINT)}


OF_JOINT = (
    Column("family", _("family of joints")),
    Column("wheel", _("wheel that it is at")),
    number("count", _("how many alike")),
    Column("thread", _("thread")),
    Column("grade", _("grade")),
    Column("target_typed", _("target torque as written; empty: not recorded")),
    number("target_nm", _("target torque"), "N.m"),
    number("low_nm", _("lowest torque that holds"), "N.m"),
    number("high_nm", _("highest torque that holds"), "N.m"),
    Column("pattern", _("order of tightening")),
    Column("thread_locker", _("thread-locker")),
    Column("locking", _("locking device")),
    Column("is_critical", _("could cost a wheel, the steering or the brakes"), YES_NO),
    Column("source", _("whose figure the target is; empty: not recorded")),
)
KIT_JOINTS = Table(
    "kit_joints.csv",
    _("the joints of each edition of a kit: thread, grade, target and whose figure it is"),
    (
        Column("kit", _("the edition; see kits.csv")),
        Column("code", _("the kit's short name in rules")),
        Column("edition", _("edition of the maker's instructions")),
        Column("joint", _("the joint")),
        *OF_JOINT,
    ),
    kit_joint_rows,
    per_cart=False,
    key=("kit", "joint"),
)
