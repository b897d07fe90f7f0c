"""The bundle's tables of joints that a kit's list lacks: seen at carts, and decided on."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.columns import YES_NO, Column, number
from fleet.bundle.shapes import ANY_CART, blank, fact_table, read_off, said
from lifts.actions.extra_joints import joint_row
from lifts.extra_joints import DECIDED, DECLINED, ENDED, JOINT
from lifts.models import JointSeen

WAITING = "waiting"
WORDS = {JOINT: "taken up", DECLINED: "declined", ENDED: "ended"}


def told_seen(batch):
    seen = list(batch.standing(JointSeen))
    decisions = {one.value["seen"]: one for _cart, one in batch.changes(*DECIDED)}
    for cart, fact in seen:
        decision = decisions.get(str(fact.pk))
        word = WORDS[decision.what] if decision else WAITING
        yield cart, fact, {"decision": word, "decided": decision and decision.pk}


SEEN = fact_table(
    "joints_seen.csv",
    _("each joint seen at a cart that its kit's list lacks"),
    said("seen", _("the entry that says it was seen"), field="id"),
    (
        said("name", _("the joint as seen")),
        said("family", _("family of joints")),
        said("wheel", _("wheel that it is at")),
        said("count", _("how many alike"), numeric=True),
        said("thread", _("thread as seen")),
        said("note", _("note")),
        Column("decision", _("computed: waiting, taken up or declined, as of the day")),
        Column("decided", _("that decision; see joint_decisions.csv")),
    ),
    told_seen,
)


def told_decisions(batch):
    for cart, change in batch.changes(*WORDS):
        about = change.value
        joint = read_off(joint_row(change), AS_LISTED) if change.what == JOINT else NOT_LISTED
        yield (
            cart,
            change,
            {
                "decision": WORDS[change.what],
                "seen": about.get("seen", ""),
                "ends": about.get("joint", ""),
                "joint": about["name"],
                "above_proof": about.get("above_proof", ""),
                **joint,
            },
        )


AS_LISTED = (
    Column("family", _("family of joints")),
    Column("wheel", _("wheel that it is at")),
    number("count", _("how many alike")),
    Column("thread", _("thread")),
    Column("grade", _("grade")),
    Column("target_typed", _("target torque as written; empty: not recorded")),
    number("target_nm", _("target torque"), "N.m"),
    Column("is_critical", _("could cost a wheel, the steering or the brakes"), YES_NO),
    Column("source", _("whose figure the target is; empty: not recorded")),
)
NOT_LISTED = blank(AS_LISTED)
DECISIONS = fact_table(
    "joint_decisions.csv",
    _("what managers decided on joints beside a kit's list: taken up, declined, and later ended"),
    said("change", _("the entry that decides"), field="id"),
    (
        Column("decision", _("taken up, declined or ended")),
        Column("seen", _("the joint that was seen; see joints_seen.csv")),
        Column("ends", _("the entry that took up the joint which this one ends")),
        Column("joint", _("the joint's name")),
        *AS_LISTED,
        Column("above_proof", _("why its target may be above proof load, signed by who recorded")),
        said("reason", _("why")),
    ),
    told_decisions,
    cart=ANY_CART,
)
