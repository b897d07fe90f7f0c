"""Whether a sheet was worked in the right order: camber first, then toe, then the drive. Pure.

A turned camber moves toe, so whatever was read or set before it says nothing any more.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from alignment.counting import SIDE_TO_SIDE, counting, until
from alignment.judging import judge
from alignment.readings import ROD, SIDES, SLEEVE, Sheet

TOE_BEFORE_CAMBER = "toe-before-camber"
TWO_STEPS = "two-steps"
NOT_ADJUSTABLE = "not-adjustable"
CAMBER_AGAIN = "camber-again"
TOE_AFTER_SLEEVE = "toe-after-sleeve"
ROD_WITHOUT_CAMBER = "rod-without-camber"
ROD_BEFORE_CAMBER = "rod-before-camber"
TOE_AFTER_ROD = "toe-after-rod"
CAMBER_AFTER_DRIVE = "camber-after-drive"
TOE_AFTER_DRIVE = "toe-after-drive"
NOTHING_DONE = "nothing-done"
CODES = (
    TOE_BEFORE_CAMBER,
    TWO_STEPS,
    NOT_ADJUSTABLE,
    CAMBER_AGAIN,
    TOE_AFTER_SLEEVE,
    ROD_WITHOUT_CAMBER,
    ROD_BEFORE_CAMBER,
    TOE_AFTER_ROD,
    CAMBER_AFTER_DRIVE,
    TOE_AFTER_DRIVE,
    NOTHING_DONE,
)
NOT_BY_TURNING = "not"


@dataclass(frozen=True)
class Slip:
    """One thing out of order, at a pass; ``side`` where it is of one wheel."""

    code: str
    pass_no: int
    side: str = ""


def slips(sheet: Sheet, *, camber_adjusts: str, passes: int | None = None) -> tuple[Slip, ...]:
    """Return all that is out of order, pass by pass; nothing for a sheet in order.

    ``camber_adjusts`` is "not" where no sleeve turns it: then a tie rod may be turned with
    camber outside. ``passes`` is how many there are, if more than the sheet has lines of.
    """
    last_pass = max(_passes_seen(sheet) | {passes or 1})
    found = [
        *_unread_before_toe(sheet),
        *_mixed_steps(sheet),
        *_camber_not_again(sheet),
        *_toe_not_after_sleeve(sheet),
        *_rods_too_soon(sheet, camber_adjusts),
        *_toe_not_after_rod(sheet),
        *_not_after_drive(sheet),
        *_nothing_done(sheet, last_pass),
    ]
    if camber_adjusts == NOT_BY_TURNING:
        found += [Slip(NOT_ADJUSTABLE, n, side) for n, side in _sleeves(sheet)]
    return tuple(sorted(found, key=lambda slip: slip.pass_no))


def _passes_seen(sheet):
    lines = (*sheet.cambers, *sheet.toes, *sheet.turns)
    return {line.pass_no for line in lines} | {sheet.drive_pass or 1}


def _sleeves(sheet):
    """Return each (pass, side) whose sleeve was turned, in order, once."""
    return sorted({(turn.pass_no, turn.at) for turn in sheet.turns if turn.what == SLEEVE})


def _rods(sheet):
    return sorted({turn.pass_no for turn in sheet.turns if turn.what == ROD})


def _camber_passes(sheet, side):
    return {one.pass_no for one in sheet.cambers if one.side == side}


def _toe_passes(sheet):
    return {toe.pass_no for toe in sheet.toes if not toe.is_void}


def _missing_sides(sheet):
    return [side for side in SIDES if not counting(sheet)[f"camber {side}"]]


def _unread_before_toe(sheet) -> Iterable[Slip]:
    """Yield each wheel whose camber had not been read yet when toe first was."""
    first = min(_toe_passes(sheet), default=None)
    if first is None:
        return
    for side in SIDES:
        # one read since and void again is told by what voided it
        if min(_camber_passes(sheet, side), default=first + 1) > first:
            yield Slip(TOE_BEFORE_CAMBER, first, side)


def _mixed_steps(sheet):
    steps = {(turn.pass_no, turn.what) for turn in sheet.turns}
    if sheet.drive_pass is not None:
        steps.add((sheet.drive_pass, "drive"))
    passes = [pass_no for pass_no, _what in steps]
    for pass_no in sorted({one for one in passes if passes.count(one) > 1}):
        yield Slip(TWO_STEPS, pass_no)


def _camber_not_again(sheet):
    for pass_no, side in _sleeves(sheet):
        if pass_no not in _camber_passes(sheet, side):
            yield Slip(CAMBER_AGAIN, pass_no, side)


def _toe_not_after_sleeve(sheet):
    turned = [pass_no for pass_no, _side in _sleeves(sheet)]
    if turned and max(_toe_passes(sheet), default=0) < turned[-1]:
        yield Slip(TOE_AFTER_SLEEVE, turned[-1])


def _rods_too_soon(sheet, camber_adjusts):
    for pass_no in _rods(sheet):
        before = until(sheet, pass_no - 1)
        missing = _missing_sides(before)
        yield from (Slip(ROD_WITHOUT_CAMBER, pass_no, side) for side in missing)
        if camber_adjusts != NOT_BY_TURNING:
            yield from (Slip(ROD_BEFORE_CAMBER, pass_no, side) for side in _outside(before))


def _outside(sheet):
    """Return the wheels whose camber is outside; no side for the difference alone."""
    outside = judge(sheet).outside
    sides = [side for side in SIDES if f"camber {side}" in outside]
    return sides or ([""] if SIDE_TO_SIDE in outside else [])


def _toe_not_after_rod(sheet):
    # what a later sleeve voided was read all the same
    read = {toe.pass_no for toe in sheet.toes}
    return [Slip(TOE_AFTER_ROD, pass_no) for pass_no in _rods(sheet) if pass_no not in read]


def _not_after_drive(sheet):
    drive = sheet.drive_pass
    if drive is None:
        return
    for side in SIDES:
        if max(_camber_passes(sheet, side), default=0) < drive:
            yield Slip(CAMBER_AFTER_DRIVE, drive, side)
    if max(_toe_passes(sheet), default=0) < drive:
        yield Slip(TOE_AFTER_DRIVE, drive)


def _nothing_done(sheet, last_pass):
    seen = _passes_seen(sheet)
    return [Slip(NOTHING_DONE, n) for n in range(2, last_pass + 1) if n not in seen]
