"""Reads a kit's joints and grease points from lines of text, and writes them back.

One joint a line, its values parted by ``|`` or tabs, under a line of headings. Pure but
for the words of its errors.
"""

from decimal import Decimal

from django.utils.translation import gettext as _

from lifts.pasted_lines import BadLine, Row, read_rows, refuse_repeats, written
from lifts.proof import pitches_disagree
from shared.units import SI_UNITS

__all__ = [
    "BadLine",
    "read_joint",
    "read_joints",
    "read_points",
    "write_joints",
    "write_points",
]

JOINT_HEADS = (
    "joint",
    "family",
    "wheel",
    "count",
    "thread",
    "pitch mm",
    "grade",
    "grip",
    "K",
    "target",
    "low",
    "high",
    "stages",
    "order",
    "locker",
    "locking",
    "removals",
    "marks",
    "source",
)
POINT_HEADS = ("point", "count", "marks")
FAMILIES = ("lugs", "u-bolts", "hub-nuts", "steering-joints", "other-joints")
WHEELS = ("", "left front", "left rear", "right rear", "right front")
ORDERS = ("", "star", "crosswise")
LOCKERS = ("", "medium", "high")
LOCKINGS = ("", "pin", "tab", "nylon insert", "jam nut")
JOINT_MARKS = {
    "critical": "is_critical",
    "weight on": "weight_on",
    "by look": "is_by_look",
    "galvanised": "is_galvanised",
    "no adapter": "no_adapter",
    "new each time": "always_new",
}
POINT_MARKS = {"rubber": "is_rubber", "weight on": "weight_on"}
MOST_COUNT = 40
MOST_REMOVALS = 20
MOST_NM = 2000
LEAST_PITCH_MM, MOST_PITCH_MM = Decimal("0.2"), 10
MOST_GRIP_MM = 1000
# Shigley and Mischke's table runs from 0.12 to 0.30; wider bounds are judgement
LEAST_NUT_FACTOR, MOST_NUT_FACTOR = Decimal("0.05"), Decimal("0.5")
LONGEST = {
    "joint": 54,
    "point": 54,
    "thread": 40,
    "grade": 20,
    "stages": 40,
    "marks": 80,
    "source": 120,
}
WHOLE_COLUMNS = ("stages", "pattern", "thread_locker", "locking")


def read_joints(text: str, torque_unit: str, length_unit: str = SI_UNITS["length"]) -> list[dict]:
    """Return the joints that the lines name, as plain values for a kit.

    The units are meant where a torque or a grip names none; torques come out in N.m and
    lengths in mm as strings, beside what was typed.

    Raises BadLine naming the line, the heading and the value.
    """
    units = {"torque": torque_unit, "length": length_unit}
    rows = read_rows(text, JOINT_HEADS, units=units, longest=LONGEST)
    joints = [_joint(row) for row in rows]
    if not joints:
        raise BadLine(_("A kit has at least one joint"))
    refuse_repeats([joint["name"] for joint in joints])
    lugs = [joint["wheel"] for joint in joints if joint["family"] == "lugs"]
    refuse_repeats(lugs)
    return joints


def read_joint(cells: dict[str, str], torque_unit: str, length_unit: str) -> dict:
    """Return one joint as read_joints does, from its values by heading. Raises BadLine."""
    units = {"torque": torque_unit, "length": length_unit}
    return _joint(Row(1, cells, units, LONGEST))


def read_points(text: str) -> list[dict]:
    """Return the grease points that the lines name. Raises BadLine as read_joints does."""
    rows = read_rows(text, POINT_HEADS, units={}, longest=LONGEST)
    points = [_point(row) for row in rows]
    refuse_repeats([point["name"] for point in points])
    return points


def _joint(row):
    family = row.one_of("family", FAMILIES)
    wheel = row.one_of("wheel", WHEELS)
    if not row.text("joint"):
        raise row.bad("joint", _("a name"))
    if family == "lugs" and not wheel:
        raise row.bad("wheel", _("lugs need their wheel: %s") % ", ".join(WHEELS[1:]))
    return {
        "name": row.text("joint"),
        "family": family,
        "wheel": wheel,
        "count": row.whole("count", 1, MOST_COUNT) or 1,
        **_bolt(row),
        **_torques(row),
        "stages": row.text("stages"),
        "pattern": row.one_of("order", ORDERS),
        "thread_locker": row.one_of("locker", LOCKERS),
        "locking": row.one_of("locking", LOCKINGS),
        "removals_allowed": row.whole("removals", 0, MOST_REMOVALS),
        **_marked(row, JOINT_MARKS),
        "source": row.text("source"),
    }


def _bolt(row):
    thread = row.text("thread")
    pitch = row.number_in("pitch mm", LEAST_PITCH_MM, MOST_PITCH_MM)
    if pitch and pitches_disagree(thread, Decimal(pitch)):
        raise row.bad("pitch mm", _("the thread “%s” has another pitch") % thread)
    grip_typed, grip_mm = row.quantity("grip", "length", MOST_GRIP_MM)
    return {
        "thread": thread,
        "pitch_mm": pitch,
        "grade": row.text("grade"),
        "grip_typed": grip_typed,
        "grip_mm": grip_mm,
        "nut_factor": row.number_in("K", LEAST_NUT_FACTOR, MOST_NUT_FACTOR),
    }


def _torques(row):
    heads = ("low", "target", "high")
    torques = {head: row.quantity(head, "torque", MOST_NM) for head in heads}
    rising = [Decimal(newton_metres) for _text, newton_metres in torques.values() if newton_metres]
    if rising != sorted(rising):
        raise row.bad("target", _("low, target and high must rise in that order"))
    typed = {f"{head}_typed": typed for head, (typed, _value) in torques.items()}
    return typed | {f"{head}_nm": newton_metres for head, (_text, newton_metres) in torques.items()}


def _point(row):
    if not row.text("point"):
        raise row.bad("point", _("a name"))
    return {
        "name": row.text("point"),
        "count": row.whole("count", 1, MOST_COUNT) or 1,
        **_marked(row, POINT_MARKS),
    }


def _marked(row, marks):
    words = row.some_of("marks", marks)
    return {name: mark in words for mark, name in marks.items()}


def write_joints(joints) -> str:
    """Return the lines that read_joints reads back; ``joints`` are a kit's values."""
    return written(JOINT_HEADS, [_joint_cells(joint) for joint in joints])


def write_points(points) -> str:
    """Return the lines that read_points reads back."""
    cells = [(point["name"], point["count"], _marks(point, POINT_MARKS)) for point in points]
    return written(POINT_HEADS, cells)


def _joint_cells(joint):
    removals = joint["removals_allowed"]
    return (
        *(joint[name] for name in ("name", "family", "wheel", "count", "thread")),
        joint["pitch_mm"] or "",
        joint["grade"],
        _typed(joint, "grip", "mm"),
        joint["nut_factor"] or "",
        *(_typed(joint, head, "nm") for head in ("target", "low", "high")),
        *(joint[name] for name in WHOLE_COLUMNS),
        "" if removals is None else removals,
        _marks(joint, JOINT_MARKS),
        joint["source"],
    )


def _typed(joint, head, unit):
    """Return a quantity as it was typed with its unit, else in the unit that is kept."""
    value = joint[f"{head}_{unit}"]
    named = {"mm": "mm", "nm": "N.m"}[unit]
    return joint[f"{head}_typed"] or (f"{value} {named}" if value else "")


def _marks(row, marks):
    return ", ".join(mark for mark, name in marks.items() if row[name])
