"""Reads a kit's joints and grease points from lines of text, and writes them back.

One joint a line, its values parted by ``|`` or tabs, under a line of headings. Pure but
for the words of its errors.
"""

import csv
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from shared.units import Unreadable, read_number, read_quantity

JOINT_HEADS = (
    "joint",
    "family",
    "wheel",
    "count",
    "thread",
    "pitch mm",
    "grade",
    "target",
    "low",
    "high",
    "stages",
    "order",
    "locker",
    "locking",
    "marks",
    "source",
)
POINT_HEADS = ("point", "count", "marks")
FAMILIES = ("lugs", "u-bolts", "hub-nuts", "steering-joints", "other-joints")
WHEELS = ("", "left front", "left rear", "right rear", "right front")
ORDERS = ("", "star", "crosswise")
LOCKERS = ("", "medium", "high")
LOCKINGS = ("", "pin", "tab", "nylon insert", "jam nut")
JOINT_MARKS = ("critical", "weight on")
POINT_MARKS = ("rubber", "weight on")
MOST_LINES = 200
MOST_COUNT = 40
MOST_NM = 2000
MOST_PITCH_MM = 10
LONGEST = {"joint": 54, "point": 54, "thread": 40, "grade": 20, "stages": 40, "source": 120}


class BadLine(ValueError):
    """A line of a kit's list cannot be read; the message names the line and the value."""


@dataclass
class Row:
    """One line: its number, its values by heading, and the unit meant for a torque."""

    number: int
    values: dict[str, str] = field(default_factory=dict)
    torque_unit: str = "N.m"

    def text(self, head):
        value = self.values.get(head, "").strip()
        if len(value) > LONGEST.get(head, 40):
            raise self.bad(head, _("at most %(most)s characters") % {"most": LONGEST[head]})
        return value

    def one_of(self, head, accepted):
        value = self.text(head).lower()
        if value not in accepted:
            raise self.bad(head, _("one of: %s") % ", ".join(word for word in accepted if word))
        return value

    def some_of(self, head, accepted):
        words = [word.strip().lower() for word in self.text(head).split(",") if word.strip()]
        if not set(words) <= set(accepted):
            raise self.bad(head, ", ".join(accepted))
        return words

    def count(self):
        value = self.text("count") or "1"
        if not value.isdecimal() or not 1 <= int(value) <= MOST_COUNT:
            raise self.bad("count", _("a number from 1 to %s") % MOST_COUNT)
        return int(value)

    def pitch(self):
        return self._number("pitch mm", MOST_PITCH_MM, read_number)

    def torque(self, head):
        def newton_metres(text):
            return read_quantity(text, "torque", self.torque_unit).si

        return self._number(head, MOST_NM, newton_metres)

    def _number(self, head, most, read):
        text = self.text(head)
        if not text:
            return None
        try:
            value = read(text)
        except Unreadable as unreadable:
            raise self.bad(head, _(unreadable.plain) % unreadable.holes) from unreadable
        if not 0 < value <= most:
            raise self.bad(head, _("a number above zero"))
        return format(value, "f")

    def bad(self, head, accepted):
        said = _("Line %(line)s, %(head)s “%(value)s”: %(accepted)s")
        value = self.values.get(head, "")[:60]
        return BadLine(
            said % {"line": self.number, "head": head, "value": value, "accepted": accepted}
        )


def read_joints(text: str, torque_unit: str) -> list[dict]:
    """Return the joints that the lines name, as plain values for a kit.

    ``torque_unit`` is meant where a target names none; torques come out in N.m as strings.

    Raises BadLine naming the line, the heading and the value.
    """
    joints = [_joint(row) for row in _rows(text, JOINT_HEADS, torque_unit)]
    if not joints:
        raise BadLine(_("A kit has at least one joint"))
    _refuse_repeats([joint["name"] for joint in joints])
    lugs = [joint["wheel"] for joint in joints if joint["family"] == "lugs"]
    _refuse_repeats(lugs)
    return joints


def read_points(text: str) -> list[dict]:
    """Return the grease points that the lines name. Raises BadLine as read_joints does."""
    points = [_point(row) for row in _rows(text, POINT_HEADS, "N.m")]
    _refuse_repeats([point["name"] for point in points])
    return points


def _rows(text, heads, torque_unit):
    lines = text.splitlines()
    if len(lines) > MOST_LINES:
        raise BadLine(_("At most %s lines") % MOST_LINES)
    mark = "\t" if "\t" in text else "|"
    found = None
    for number, cells in enumerate(csv.reader(lines, delimiter=mark, quoting=csv.QUOTE_NONE), 1):
        cells = [cell.strip() for cell in cells]
        if not any(cells):
            continue
        if found is None:
            found = _headings(cells, heads, number)
            continue
        yield Row(number, dict(zip(found, cells, strict=False)), torque_unit)


def _headings(cells, heads, number):
    found = [cell.lower() for cell in cells]
    unknown = [head for head in found if head and head not in heads]
    if unknown or heads[0] not in found:
        said = _("Line %(line)s must name the columns, from: %(heads)s")
        raise BadLine(said % {"line": number, "heads": " | ".join(heads)})
    return found


def _joint(row):
    family = row.one_of("family", FAMILIES)
    wheel = row.one_of("wheel", WHEELS)
    if not row.text("joint"):
        raise row.bad("joint", _("a name"))
    if family == "lugs" and not wheel:
        raise row.bad("wheel", _("lugs need their wheel: %s") % ", ".join(WHEELS[1:]))
    marks = row.some_of("marks", JOINT_MARKS)
    low, target, high = (row.torque(head) for head in ("low", "target", "high"))
    return {
        "name": row.text("joint"),
        "family": family,
        "wheel": wheel,
        "count": row.count(),
        "thread": row.text("thread"),
        "pitch_mm": row.pitch(),
        "grade": row.text("grade"),
        "target_typed": row.text("target"),
        "target_nm": target,
        "low_nm": low,
        "high_nm": high,
        "stages": row.text("stages"),
        "pattern": row.one_of("order", ORDERS),
        "weight_on": "weight on" in marks,
        "thread_locker": row.one_of("locker", LOCKERS),
        "locking": row.one_of("locking", LOCKINGS),
        "is_critical": "critical" in marks,
        "source": row.text("source"),
    }


def _point(row):
    if not row.text("point"):
        raise row.bad("point", _("a name"))
    marks = row.some_of("marks", POINT_MARKS)
    return {
        "name": row.text("point"),
        "count": row.count(),
        "is_rubber": "rubber" in marks,
        "weight_on": "weight on" in marks,
    }


def _refuse_repeats(names):
    for name in names:
        if names.count(name) > 1:
            raise BadLine(_("“%s” stands there twice") % name)


def write_joints(joints) -> str:
    """Return the lines that read_joints reads back; ``joints`` are a kit's values."""
    return _written(JOINT_HEADS, [_joint_cells(joint) for joint in joints])


def write_points(points) -> str:
    """Return the lines that read_points reads back."""
    return _written(POINT_HEADS, [_point_cells(point) for point in points])


def _joint_cells(joint):
    marks = [("critical", joint["is_critical"]), ("weight on", joint["weight_on"])]
    return (
        *(joint[name] for name in ("name", "family", "wheel", "count", "thread")),
        joint["pitch_mm"] or "",
        joint["grade"],
        joint["target_typed"] or _newton_metres(joint["target_nm"]),
        _newton_metres(joint["low_nm"]),
        _newton_metres(joint["high_nm"]),
        *(joint[name] for name in ("stages", "pattern", "thread_locker", "locking")),
        ", ".join(mark for mark, is_so in marks if is_so),
        joint["source"],
    )


def _newton_metres(value):
    return f"{value} N.m" if value else ""


def _point_cells(point):
    marks = [("rubber", point["is_rubber"]), ("weight on", point["weight_on"])]
    return point["name"], point["count"], ", ".join(mark for mark, is_so in marks if is_so)


def _written(heads, rows):
    return "\n".join(" | ".join(str(cell) for cell in row) for row in (heads, *rows))
