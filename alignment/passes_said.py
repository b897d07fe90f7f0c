"""A sheet pass by pass, in words: what was turned, what was read, what is void. No writes."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment import words
from alignment.counting import TOE, is_void, name_of
from alignment.flats_said import flats_said
from alignment.geometry import toe_total_deg
from alignment.judging import camber_of, judge_pass
from alignment.models import CamberReading, Turn
from alignment.readings import ROD, SLEEVE, Camber, Sheet, Toe
from alignment.sheets import pass_of, reading_of
from alignment.site_words import Wording
from alignment.told_sheets import ToldSheet

DRIVE = "drive"
TITLES = {
    (): _("Pass %(n)s: read again"),
    (SLEEVE,): _("Pass %(n)s: camber sleeve turned"),
    (ROD,): _("Pass %(n)s: tie rods turned"),
    (DRIVE,): _("Pass %(n)s: driven, both read again"),
    (SLEEVE, ROD): _("Pass %(n)s: camber sleeve and tie rods turned"),
}
FIRST = _("Pass %(n)s: as found")
VOID_BY = {
    SLEEVE: _("void: camber turned after it"),
    ROD: _("void: tie rod turned after it"),
    DRIVE: _("void: driven after it"),
}


@dataclass(frozen=True)
class Row:
    """The readings of one value in a pass: each as read with what that is, and why void."""

    name: str
    readings: list[tuple[str, str]]
    void: str


@dataclass(frozen=True)
class Pass:
    """A pass with its title, its turns in words, and its readings."""

    title: str
    turns: list[str]
    rows: list[Row]


def passes_of(told: ToldSheet, wording: Wording) -> list[Pass]:
    """Return the passes of a sheet, the first as found."""
    turns = [line for line in told.lines if isinstance(line, Turn)]
    readings = [line for line in told.lines if not isinstance(line, Turn)]
    numbers = {1, *(pass_of(one) for one in readings), *(one.pass_no for one in told.sheet.turns)}
    return [
        Pass(
            title=_title(told.sheet, n),
            turns=list(_turns(told.sheet, n, [one for one in turns if one.pass_no == n], wording)),
            rows=list(_rows(told.sheet, [one for one in readings if pass_of(one) == n], wording)),
        )
        for n in sorted(numbers | {told.sheet.drive_pass or 1})
    ]


def _title(sheet, n):
    if n == 1:
        return str(FIRST) % {"n": n}
    whats = {turn.what for turn in sheet.turns if turn.pass_no == n}
    steps = tuple(what for what in (SLEEVE, ROD) if what in whats)
    if sheet.drive_pass == n:
        steps = (DRIVE,)
    return str(TITLES[steps]) % {"n": n}


def _turns(sheet: Sheet, n: int, lines, wording) -> Iterator[str]:
    for line in lines:
        what = {"what": line.get_what_display(), "at": line.get_at_display()}
        about = words.begun(gettext("%(what)s %(at)s") % what)
        yield f"{about}: {_flats(line)}{_foretold_camber(sheet, n, line, wording)}"
    rods = [line for line in lines if line.what == Turn.What.ROD]
    formulas = [line.formula_mm for line in rods]
    if rods and None not in formulas:
        yield words.begun(_foretold(TOE, sum(formulas), rods[0].predicted_mm, sheet, n, wording))
    if not lines:
        yield from _uncounted(sheet, n)


def _flats(line):
    if line.longer_flats is None:
        return gettext("turned, flats not counted")
    return flats_said(float(line.longer_flats))


def _foretold_camber(sheet, n, line, wording):
    if line.what != Turn.What.SLEEVE or line.formula_deg is None:
        return ""
    name = f"camber {line.at}"
    return f"; {_foretold(name, line.formula_deg, line.predicted_deg, sheet, n, wording)}"


def _foretold(name, formula, predicted, sheet, n, wording):
    """Return what the formula gave, what was foretold, and what was then read."""
    said = [gettext("by the formula %s") % wording.change(name, float(formula))]
    if predicted is not None:
        said.append(gettext("predicted %s") % wording.figure(name, float(predicted)))
    read = judge_pass(sheet, n).results.get(name)
    if read is not None:
        figure = f"{wording.figure(name, read.value)} {wording.spread(name, read.expanded)}"
        said.append(gettext("then read %s") % figure)
    return "; ".join(said)


def _uncounted(sheet, n):
    """Yield what an entry of before flats were asked says was turned."""
    turned = [turn for turn in sheet.turns if turn.pass_no == n]
    for turn in turned:
        if turn.what == SLEEVE:
            yield gettext("Camber sleeve %s: flats not recorded") % words.SIDES[turn.at]
    if any(turn.what == ROD for turn in turned):
        yield gettext("Tie rods: side and flats not recorded")


def _rows(sheet: Sheet, lines, wording) -> Iterator[Row]:
    """Yield what was read of each value; all readings of one in a pass are void, or none is."""
    of_value: dict[str, list] = {}
    for line in lines:
        of_value.setdefault(name_of(reading_of(line)), []).append(line)
    for name, read in of_value.items():
        title = words.begun(str(words.NAMES[name]))
        readings = [_reading(sheet, name, line, wording) for line in read]
        yield Row(title, readings, void_said(sheet, reading_of(read[0])))


def _reading(sheet, name, line, wording) -> tuple[str, str]:
    reading = reading_of(line)
    if isinstance(line, CamberReading):
        return _camber_read(line), _camber_value(sheet, reading, name, wording)
    return _toe_read(line), _toe_value(sheet, reading, wording)


def _camber_read(line):
    half = "; " + gettext("after half a turn") if line.half_turn else ""
    if line.gauge_deg is not None:
        return gettext("gauge %s") % line.gauge_typed + half
    typed = {
        "top": line.gap_top_typed,
        "bottom": line.gap_bottom_typed,
        "between": line.between_typed,
    }
    return gettext("top %(top)s, bottom %(bottom)s, %(between)s apart") % typed + half


def _toe_read(line):
    typed = {"front": line.front_typed, "rear": line.rear_typed}
    return gettext("front %(front)s, rear %(rear)s") % typed


def _camber_value(sheet, reading, name, wording):
    read, freed = reading.deg, camber_of(sheet, reading)
    if read == freed:
        return wording.figure(name, read)
    said = {"read": wording.figure(name, read), "freed": wording.figure(name, freed)}
    return gettext("%(read)s; %(freed)s freed of the floor’s slope") % said


def _toe_value(sheet, reading, wording):
    length = wording.figure(TOE, reading.mm)
    if not sheet.diameter_mm:
        return length
    return (
        f"{length}, {wording.figure('camber left', toe_total_deg(reading.mm, sheet.diameter_mm))}"
    )


def void_said(sheet: Sheet, reading: Camber | Toe) -> str:
    """Return in words what first voided a reading; empty for one that nothing did."""
    if not is_void(sheet, reading):
        return ""
    later = [
        (turn.pass_no, turn.what)
        for turn in sheet.turns
        if turn.pass_no > reading.pass_no and _moves(turn, reading)
    ]
    if sheet.drive_pass is not None and sheet.drive_pass > reading.pass_no:
        later.append((sheet.drive_pass, DRIVE))
    # a toe reading may be recorded as void of a turn that no line tells of
    first = min(later, default=(0, SLEEVE), key=lambda one: one[0])
    return str(VOID_BY[first[1]])


def _moves(turn, reading):
    return isinstance(reading, Toe) or (turn.what, turn.at) == (SLEEVE, reading.side)
