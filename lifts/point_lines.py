"""Reads the points of a wrench's certificate from lines of text, and writes them back.

One torque a line: what was set, the error as found, the error as left, parted by ``|`` or
tabs. Pure but for the words of its errors.
"""

from decimal import Decimal
from typing import NamedTuple

from django.utils.translation import gettext as _

from shared.units import LEAST_SI, Unreadable, read_number, read_quantity

HEADS = ("set", "as found", "as left")
FEWEST_POINTS = 3  # ISO 6789 asks for 20, 60 and 100 % of the greatest torque
MOST_POINTS = 20
PLACES = Decimal("0.00001")
MOST_NM = Decimal(5000)
# further off, the figure belongs to another torque or unit
WORST_ERROR = Decimal("0.5")


class BadPoint(ValueError):
    """A line of a certificate cannot be read; the message names the line and the value."""


class Point(NamedTuple):
    """One torque of a certificate; the errors are shares of what was set, plus is too much."""

    set_typed: str
    set_nm: Decimal
    as_found: Decimal
    as_left: Decimal


def read_points(text: str, torque_unit: str) -> list[Point]:
    """Return the points that the lines say; ``torque_unit`` is meant where none is written.

    An error is written as a share, "-3 %", or as the torque delivered, "48.2 N.m". With no
    third value the wrench was left as it was found. A line of headings may come first.

    Raises BadPoint for a line that cannot be read, a torque said twice, or fewer than three.
    """
    points = [_point(number, cells, torque_unit) for number, cells in _rows(text)]
    torques = [point.set_nm for point in points]
    for point in points:
        if torques.count(point.set_nm) > 1:
            raise BadPoint(_("“%s” stands there twice") % point.set_typed)
    if len(points) < FEWEST_POINTS:
        raise BadPoint(_("A certificate needs at least %s torques, one a line") % FEWEST_POINTS)
    if len(points) > MOST_POINTS:
        raise BadPoint(_("At most %s lines") % MOST_POINTS)
    return points


def _rows(text):
    mark = "\t" if "\t" in text else "|"
    for number, line in enumerate(text.splitlines(), start=1):
        cells = [cell.strip() for cell in line.split(mark)]
        while cells and not cells[-1]:
            cells.pop()
        if cells and cells[0].casefold() != HEADS[0]:
            yield number, cells


def _point(number, cells, torque_unit):
    if not 2 <= len(cells) <= len(HEADS):
        said = _("Line %(line)s: write set | as found | as left, such as 20 N.m | -3 %% | 0.5 %%")
        raise BadPoint(said % {"line": number})
    set_nm = _set(number, cells[0], torque_unit)
    errors = [
        _error(number, name, text, set_nm) for name, text in zip(HEADS[1:], cells[1:], strict=False)
    ]
    return Point(cells[0], set_nm, errors[0], errors[-1])


def _set(number, text, torque_unit):
    set_nm = _read(number, HEADS[0], text, lambda: read_quantity(text, "torque", torque_unit).si)
    if not LEAST_SI <= set_nm <= MOST_NM:
        raise _bad(number, HEADS[0], text, _("a torque above zero"))
    return set_nm


def _error(number, name, text, set_nm):
    if _is_bare(text):
        accepted = _("write it as a share, such as -3 %, or as a torque with its unit")
        raise _bad(number, name, text, accepted)
    if text.endswith("%"):
        error = _read(number, name, text, lambda: read_number(text[:-1].strip())) / 100
    else:
        # every torque here has its own unit
        delivered = _read(number, name, text, lambda: read_quantity(text, "torque", "N.m").si)
        error = delivered / set_nm - 1
    if abs(error) > WORST_ERROR:
        raise _bad(number, name, text, _("more than 50 % off: another torque or unit is meant"))
    return error.quantize(PLACES)


def _is_bare(text):
    try:
        read_number(text)
    except Unreadable:
        return False
    return True


def _read(number, name, text, read):
    try:
        return read()
    except Unreadable as unreadable:
        raise _bad(number, name, text, _(unreadable.plain) % unreadable.holes) from unreadable


def _bad(number, name, text, accepted):
    said = _("Line %(line)s, %(head)s “%(value)s”: %(accepted)s")
    return BadPoint(
        said % {"line": number, "head": _(name), "value": text[:60], "accepted": accepted}
    )
