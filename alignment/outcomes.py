"""What a sheet amounts to: the work it closes, what keeps it open, what starts, a tag."""

from collections.abc import Iterator

from alignment import words
from alignment.order import NOT_BY_TURNING
from alignment.readings import ROD, SLEEVE
from alignment.sheets import judged, sheet_of
from fleet.kinds import Hold, Outcome, Start

CAMBER_TOE, JAM_NUTS, DRIVE = "camber-toe", "jam-nuts", "drive"
CAMBER_TURNED, TIE_ROD_TURNED = "camber-turned", "tie-rod-turned"
LEFT_OUTSIDE = "camber-toe-outside"


def outcome_of(fact, lines) -> Outcome:
    """Return what the sheet amounts to, from the fact and its lines alone.

    "Can't tell" closes. One of before passes were asked is held to no more than its limits.
    """
    sheet, found = sheet_of(fact, lines), judged(fact, lines)
    holds = tuple(Hold(CAMBER_TOE, reason) for reason in _reasons(fact, sheet, found))
    is_hit = bool(fact.after_kerb_hit and found.outside)
    is_loose = _is_loose(fact, sheet)
    return Outcome(
        pieces=frozenset(_done(fact, sheet, holds)),
        holds=holds,
        starts=tuple(_starts(fact, sheet, found)),
        tag="; ".join(filter(None, _tags(fact, found, is_hit=is_hit, is_loose=is_loose))),
        # a bent or loose steering part is for another person to rule out
        is_critical=is_hit or is_loose,
    )


def _tags(fact, found, *, is_hit, is_loose):
    is_adjustable = fact.camber_adjusts != NOT_BY_TURNING
    why = words.tagged(found, after_kerb_hit=is_hit, is_adjustable=is_adjustable)
    yield _signed(fact, found, why)
    yield str(words.JAM_NUTS_LOOSE) if is_loose else ""


def _signed(fact, found, said):
    """Return a reason with the key to its sign; those of old entries stay as recorded."""
    return said if fact.passes is None else words.with_key(said, found)


def _is_loose(fact, sheet):
    """Whether jam nuts were said not to be tight after something was turned."""
    return fact.passes is not None and fact.jam_nuts is False and bool(sheet.turns)


def _reasons(fact, sheet, found) -> Iterator[str]:
    if found.missing:
        yield words.not_measured(found)
    if found.outside:
        yield _signed(fact, found, words.outside(found))
    if fact.passes is not None:
        yield from _not_ready(fact)
        if fact.wheel_centred is False and _turned(sheet, ROD):
            yield str(words.WHEEL_OFF_CENTRE)


def _not_ready(fact):
    for name in fact.READY:
        if not getattr(fact, name):
            yield _why_not(fact, name)
    if not (fact.floor_level or fact.floor_low_side or fact.floor_plates is False):
        yield str(words.NOT_READY["floor_level"])


def _why_not(fact, name):
    is_read = None not in (fact.pressure_left_kpa, fact.pressure_right_kpa)
    if name == "pressures_equal" and not is_read:
        return str(words.PRESSURES_NOT_READ)
    return str(words.NOT_READY[name])


def _done(fact, sheet, holds):
    if not holds:
        yield CAMBER_TOE
    if fact.jam_nuts:
        yield JAM_NUTS
    if _is_driven(fact, sheet):
        yield DRIVE


def _is_driven(fact, sheet):
    """Whether the cart was driven as it is left: nothing was turned after the drive."""
    if fact.passes is None:
        return fact.driven
    if sheet.drive_pass is None:
        return fact.driven and not sheet.turns
    return all(turn.pass_no <= sheet.drive_pass for turn in sheet.turns)


def _starts(fact, sheet, found):
    if _turned(sheet, SLEEVE):
        yield Start(CAMBER_TURNED)
    if _turned(sheet, ROD):
        yield Start(TIE_ROD_TURNED)
    # a turn calls for both again by itself
    if fact.passes is not None and found.outside and not sheet.turns:
        yield Start(LEFT_OUTSIDE)


def _turned(sheet, what):
    return any(turn.what == what for turn in sheet.turns)
