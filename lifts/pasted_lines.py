"""Reads lines of text whose values are parted by ``|`` or tabs, under a line of headings.

Pure but for the words of its errors.
"""

import csv
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from shared.units import LEAST_SI, Unreadable, read_number, read_quantity

MOST_LINES = 200


class BadLine(ValueError):
    """A line of a list cannot be read; the message names the line and the value.

    ``head`` is the heading and ``accepted`` what may stand there, where one value is at fault.
    """

    def __init__(self, said, head="", accepted=""):
        super().__init__(said)
        self.head, self.accepted = head, accepted


@dataclass
class Row:
    """One line: its number, its values by heading, the units meant and how long each may be."""

    number: int
    values: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    longest: dict[str, int] = field(default_factory=dict)

    def text(self, head):
        value = self.values.get(head, "").strip()
        most = self.longest.get(head, 40)
        if len(value) > most:
            raise self.bad(head, _("at most %(most)s characters") % {"most": most})
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

    def whole(self, head, least, most):
        """Return a whole number, None for an empty cell."""
        value = self.text(head)
        if not value:
            return None
        if not (value.isascii() and value.isdecimal()) or not least <= int(value) <= most:
            said = _("a number from %(least)s to %(most)s") % {"least": least, "most": most}
            raise self.bad(head, said)
        return int(value)

    def number_in(self, head, least, most):
        """Return a plain number as text, None for an empty cell."""
        value = self._read(head, read_number)
        if value is not None and not least <= value <= most:
            said = _("a number from %(least)s to %(most)s") % {"least": least, "most": most}
            raise self.bad(head, said)
        return value and format(value, "f")

    def quantity(self, head, quantity, most_si):
        """Return a quantity as typed, with the unit meant where none was, and in its SI unit.

        Both are texts: ("25 lbf.ft", "33.895…"); ("", None) for an empty cell.
        """

        def measured(text):
            return read_quantity(text, quantity, self.units[quantity])

        measure = self._read(head, measured)
        if measure is None:
            return "", None
        if not LEAST_SI <= measure.si <= most_si:
            raise self.bad(head, _("a number above zero"))
        return _with_unit(measure), format(measure.si, "f")

    def _read(self, head, read):
        text = self.text(head)
        try:
            return read(text) if text else None
        except Unreadable as unreadable:
            raise self.bad(head, _(unreadable.plain) % unreadable.holes) from unreadable

    def bad(self, head, accepted):
        said = _("Line %(line)s, %(head)s “%(value)s”: %(accepted)s")
        value = self.values.get(head, "")[:60]
        holes = {"line": self.number, "head": head, "value": value, "accepted": accepted}
        return BadLine(said % holes, head, accepted)


def _with_unit(measure):
    """Return what was typed, so that it says the same at a site of other units."""
    try:
        read_number(measure.typed)
    except Unreadable:
        return measure.typed
    return f"{measure.typed} {measure.unit}"


def read_rows(text, heads, *, units, longest):
    """Yield a Row for each line under the headings, whose first of ``heads`` must be there.

    Raises BadLine for headings that are not in ``heads``, and for too many lines.
    """
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
        yield Row(number, dict(zip(found, cells, strict=False)), units, longest)


def _headings(cells, heads, number):
    named = {head.lower(): head for head in heads} | {"": ""}
    found = [named.get(cell.lower()) for cell in cells]
    if None in found or heads[0] not in found:
        said = _("Line %(line)s must name the columns, from: %(heads)s")
        raise BadLine(said % {"line": number, "heads": " | ".join(heads)})
    return found


def refuse_repeats(names):
    for name in names:
        if names.count(name) > 1:
            raise BadLine(_("“%s” stands there twice") % name)


def written(heads, rows) -> str:
    """Return the lines that read_rows reads back."""
    lines = [[str(cell) for cell in row] for row in (heads, *rows)]
    # a cell pasted from a spreadsheet may hold the other mark
    mark = "\t" if any("|" in cell for line in lines for cell in line) else " | "
    return "\n".join(mark.join(line) for line in lines)
