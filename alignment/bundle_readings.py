"""The bundle's tables of a sheet's lines: each reading as it was read, and each turn."""

from decimal import Decimal

from django.utils.translation import gettext_lazy as _

from alignment.bundle_passes import camber_typed, toe_typed
from alignment.bundle_told import ABOUT, told_sheets
from alignment.counting import TOE, is_void, name_of, until
from alignment.judging import judge, judge_pass
from alignment.models import CamberReading, Turn
from alignment.sheets import reading_of, sheet_of
from fleet.bundle.columns import YES_NO, Column, Table, number
from fleet.bundle.shapes import OF_LINE, said_by_line, said_in_line

DEG, MM = "deg", "mm"
DECIMALS = Decimal("0.001")


def unit_of(name):
    return MM if name == TOE else DEG


def rounded(value):
    # a minus before nothing says nothing
    return Decimal(str(value)).quantize(DECIMALS) + 0


def reading_rows(batch):
    for one in told_sheets(batch):
        about, sheet = one.about(batch.scope), sheet_of(one.fact, one.lines)
        for line in one.lines:
            if not isinstance(line, Turn):
                yield {**about, **said_by_line(line, OF_READING), **_reading(sheet, line)}


def _reading(sheet, line):
    reading = reading_of(line)
    name = name_of(reading)
    return {
        "value_of": name,
        "as_read": camber_typed(line) if isinstance(line, CamberReading) else toe_typed(line),
        "value": rounded(reading.deg if isinstance(line, CamberReading) else reading.mm),
        "unit": unit_of(name),
        "is_void": is_void(sheet, reading),
    }


LENGTHS = (
    ("gap_top", _("gap of the square at the top of the rim")),
    ("gap_bottom", _("gap of the square at the bottom of the rim")),
    ("between", _("height between both gaps")),
    ("front", _("across the fronts of the tyres, at hub height")),
    ("rear", _("across the rears of the tyres, at hub height")),
)


def _lengths():
    for name, meaning in LENGTHS:
        yield said_in_line(f"{name}_typed", _("%s, as read") % meaning)
        yield said_in_line(f"{name}_mm", meaning, "mm", numeric=True)


OF_READING = (
    *OF_LINE,
    said_in_line(
        "pass",
        _("pass: 1 as found, a later one after each step; empty: not asked yet"),
        field="pass_no",
        numeric=True,
    ),
    said_in_line("stage", _("found: as found; left: after something was turned or driven")),
    said_in_line("side", _("side of the wheel; empty for toe")),
    said_in_line("half_turn", _("the wheel was turned half a turn before"), YES_NO),
    *_lengths(),
    said_in_line("gauge_typed", _("what a gauge showed, as read")),
    said_in_line("gauge_deg", _("what a gauge showed"), "°", numeric=True),
)
READINGS = Table(
    "alignment_readings.csv",
    _("each reading of camber and toe as it was read, and whether it was void in the end"),
    (
        *ABOUT,
        *OF_READING,
        Column("value_of", _("camber left, camber right or toe")),
        Column("as_read", _("computed: what was read, in one cell")),
        number("value", _("computed: minus camber is top in; plus toe is toe-in"), _("see unit")),
        Column("unit", _("unit of the value"), "deg, mm"),
        Column("is_void", _("computed: void, since something was turned or driven later"), YES_NO),
    ),
    reading_rows,
    entry="sheet",
    key=("sheet", "of", "place"),
)


def turn_rows(batch):
    for one in told_sheets(batch):
        about, sheet = one.about(batch.scope), sheet_of(one.fact, one.lines)
        for line in one.lines:
            if isinstance(line, Turn):
                yield {**about, **said_by_line(line, OF_TURN), **_turn(sheet, line)}


def _turn(sheet, turn):
    """Return what counted just before a turn, and what was read right after it."""
    name = TOE if turn.what == Turn.What.ROD else f"camber {turn.at}"
    before = judge(until(sheet, turn.pass_no - 1)).results.get(name)
    after = judge_pass(sheet, turn.pass_no).results.get(name)
    return {
        "moves": name,
        "before": before and rounded(before.value),
        "after": after and rounded(after.value),
        "unit": unit_of(name),
    }


OF_TURN = (
    *OF_LINE,
    said_in_line("pass", _("pass that was read after it"), field="pass_no", numeric=True),
    said_in_line("what", _("sleeve: the camber sleeve; rod: the tie rod")),
    said_in_line("at", _("left, right, or across: the one rod that joins both wheels")),
    said_in_line(
        "longer_flats",
        _("sixths of a turn, plus for longer, minus for shorter; empty: not counted"),
        numeric=True,
    ),
    said_in_line("formula_deg", _("change of camber by the formula"), "°", numeric=True),
    said_in_line(
        "formula_mm", _("change of toe by the formula, of this rod alone"), "mm", numeric=True
    ),
    said_in_line("predicted_deg", _("camber that was foretold"), "°", numeric=True),
    said_in_line("predicted_mm", _("toe that was foretold"), "mm", numeric=True),
)
TURNS = Table(
    "alignment_turns.csv",
    _("each camber sleeve and tie rod that was turned, what was foretold and what was read then"),
    (
        *ABOUT,
        *OF_TURN,
        Column("moves", _("what it is to move: camber left, camber right or toe")),
        number("before", _("computed: what counted before it"), _("see unit")),
        number("after", _("computed: what that pass read"), _("see unit")),
        Column("unit", _("unit of both"), "deg, mm"),
    ),
    turn_rows,
    entry="sheet",
    key=("sheet", "of", "place"),
)
