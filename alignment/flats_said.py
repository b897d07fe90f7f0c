"""Flats of a tie rod or a sleeve, as said and as typed. A flat is a sixth of a turn."""

from django.utils.translation import gettext

from alignment.advice import FLATS_A_TURN, way
from alignment.reading_fields import LONGER, SHORTER


def flats_said(flats):
    """Return "4 flats longer", beyond a turn "2 turns and 2 flats longer (14 flats)"."""
    if abs(flats) <= FLATS_A_TURN:
        return _in_flats(flats)
    turns, beyond = turns_said(flats)
    said = f"{turns} {beyond}" if turns else _whole_turns(flats)
    return gettext("%(said)s (%(flats)s flats)") % {"said": said, "flats": _number(abs(flats))}


def _whole_turns(flats):
    said = {"turns": f"{abs(flats) / FLATS_A_TURN:.0f}"}
    words = {
        LONGER: gettext("%(turns)s turns longer"),
        SHORTER: gettext("%(turns)s turns shorter"),
    }
    return words[way(flats)] % said


def _in_flats(flats):
    """Return the flats alone, halves as 1/2."""
    said = {"flats": _number(abs(flats))}
    if not flats:
        return gettext("no flats")
    if abs(flats) <= 1:
        words = {
            LONGER: gettext("%(flats)s flat longer"),
            SHORTER: gettext("%(flats)s flat shorter"),
        }
    else:
        words = {
            LONGER: gettext("%(flats)s flats longer"),
            SHORTER: gettext("%(flats)s flats shorter"),
        }
    return words[way(flats)] % said


def typed_flats(flats):
    """Return (flats as typed, which way)."""
    return _number(abs(flats)), SHORTER if flats < 0 else LONGER


def _number(flats):
    whole, half = divmod(flats, 1)
    return " ".join([f"{whole:.0f}"] * bool(whole) + ["1/2"] * bool(half))


def turns_said(flats):
    """Return (full turns, the flats beyond them) in words, as beside a drawing."""
    turns, rest = divmod(abs(flats), FLATS_A_TURN)
    if not (turns and rest):
        return "", _in_flats(flats)
    beyond = _in_flats(rest if flats > 0 else -rest)
    if turns == 1:
        return gettext("1 turn and"), beyond
    return gettext("%(turns)s turns and") % {"turns": f"{turns:.0f}"}, beyond
