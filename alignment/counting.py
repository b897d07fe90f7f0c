"""Which readings of a sheet still count: what was turned or driven later voids them. Pure.

A turned camber moves toe, a turned tie rod does not move camber, and a drive lets both settle.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from alignment.readings import SIDES, SLEEVE, Camber, Sheet, Toe

CAMBERS = tuple(f"camber {side}" for side in SIDES)
SIDE_TO_SIDE, TOE = "side to side", "toe"


def name_of(reading: Camber | Toe) -> str:
    """Return which value it is a reading of."""
    return f"camber {reading.side}" if isinstance(reading, Camber) else TOE


def is_void(sheet: Sheet, reading: Camber | Toe) -> bool:
    """Whether the reading does not count any more.

    A wheel's camber after its own sleeve was turned in a later pass; toe after any sleeve or
    tie rod was; both after the drive.
    """
    if isinstance(reading, Toe) and reading.is_void:
        return True
    if sheet.drive_pass is not None and sheet.drive_pass > reading.pass_no:
        return True
    return any(turn.pass_no > reading.pass_no for turn in _moving(sheet, reading))


def _moving(sheet, reading):
    """Yield the turns that move what was read."""
    for turn in sheet.turns:
        is_own = turn.what == SLEEVE and turn.at == getattr(reading, "side", None)
        if isinstance(reading, Toe) or is_own:
            yield turn


def readings_of(sheet: Sheet, name: str) -> list[Camber | Toe]:
    """Return all readings of a value, in the order of the sheet."""
    return [one for one in (*sheet.cambers, *sheet.toes) if name_of(one) == name]


def of_pass(sheet: Sheet, pass_no: int) -> Mapping[str, Sequence[Camber | Toe]]:
    """Return the readings of one pass by value, void or not."""
    return {
        name: [one for one in readings_of(sheet, name) if one.pass_no == pass_no]
        for name in (*CAMBERS, TOE)
    }


def counting(sheet: Sheet, *, after: int = 0) -> Mapping[str, Sequence[Camber | Toe]]:
    """Return by value the readings of the latest pass that has any which are not void.

    Only passes later than ``after``; nothing for a value of which no reading counts.
    """
    return {name: _last(sheet, name, after) for name in (*CAMBERS, TOE)}


def _last(sheet, name, after):
    valid = [one for one in readings_of(sheet, name) if not is_void(sheet, one)]
    last = max((one.pass_no for one in valid), default=0)
    return [one for one in valid if one.pass_no == last > after]


def until(sheet: Sheet, pass_no: int) -> Sheet:
    """Return the sheet as it stood after a pass."""
    drove = sheet.drive_pass is not None and sheet.drive_pass <= pass_no
    return replace(
        sheet,
        cambers=[one for one in sheet.cambers if one.pass_no <= pass_no],
        toes=[one for one in sheet.toes if one.pass_no <= pass_no],
        turns=[one for one in sheet.turns if one.pass_no <= pass_no],
        drive_pass=sheet.drive_pass if drove else None,
    )
