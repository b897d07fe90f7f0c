"""The bundle's tables of kits: each edition with its time in force, and each of its joints."""

from decimal import Decimal

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import moment
from fleet.bundle.columns import MOMENT, YES_NO, Column, Table, number
from fleet.bundle.shapes import blank, read_off
from lifts.actions import KIT, kit_rows
from lifts.proof import share_of_target
from lifts.proof_words import assumed
from shared.models import Change

TENTH = Decimal("0.1")
OF_KIT = (
    Column("code", _("its short name in rules")),
    Column("name", _("the lift")),
    Column("edition", _("edition of the maker's instructions")),
    Column("front", _("kind of lift in front")),
    Column("rear", _("kind of lift in the rear")),
    number("rise_front_mm", _("rise in front by the maker"), "mm"),
    number("rise_rear_mm", _("rise in the rear by the maker"), "mm"),
    Column("sheet_name", _("name of the file of the maker's instructions, as it came")),
    Column("sheet_sha256", _("SHA-256 that this file is kept under; empty: none")),
    Column("sheet_copy_sha256", _("of a picture, SHA-256 of the plain copy that is handed out")),
    Column("label_text", _("text of the warning label for it")),
    Column("above_proof", _("why targets above proof load may stand, signed by who put it in")),
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
            yield {**named, "joint": joint.name, **read_off(joint, OF_JOINT), **_proof(joint)}


def _proof(joint):
    share = share_of_target(joint)
    if share is None:
        return blank(OF_PROOF)
    return {
        **{f"proof_{name}": _percent(getattr(share, name)) for name in ("share", "low", "high")},
        "proof_grade": share.grade,
        "proof_nut_factor": Decimal(str(share.nut_factor)),
        "proof_assumed": "; ".join(assumed(joint, share)),
    }


def _percent(share):
    return Decimal(str(100 * share)).quantize(TENTH)


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
    Column("stages", _("stages of tightening, as shares of the target")),
    Column("pattern", _("order of tightening")),
    Column("thread_locker", _("thread-locker")),
    Column("locking", _("locking device")),
    Column("is_critical", _("could cost a wheel, the steering or the brakes"), YES_NO),
    Column("source", _("whose figure the target is; empty: not recorded")),
    Column("grip_typed", _("length clamped, as written")),
    number("grip_mm", _("length clamped"), "mm"),
    number("nut_factor", _("nut factor K as written; empty: not written")),
    number("removals_allowed", _("how often its nut may be taken off; empty: not said")),
    Column("weight_on", _("tightened with the weight on"), YES_NO),
    Column("is_by_look", _("gone over by eye, without a wrench"), YES_NO),
    Column("is_galvanised", _("hot-dip galvanised"), YES_NO),
    Column("no_adapter", _("no adapter on the wrench"), YES_NO),
    Column("always_new", _("its nut is replaced each time"), YES_NO),
)
OF_PROOF = (
    number("proof_share", _("computed: preload at the target, of the proof load"), "%"),
    number("proof_low", _("lower end of its scatter"), "%"),
    number("proof_high", _("upper end of its scatter"), "%"),
    Column("proof_grade", _("grade that was counted with")),
    number("proof_nut_factor", _("nut factor K that was counted with")),
    Column("proof_assumed", _("what of that was assumed; empty: nothing")),
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
        *OF_PROOF,
    ),
    kit_joint_rows,
    per_cart=False,
    key=("kit", "joint"),
)
