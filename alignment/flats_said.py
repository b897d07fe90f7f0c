"""Flats of a tie rod or a sleeve, as said and as typed. A flat is a sixth of a turn."""

from django.utils.translation import gettext

from alignment.advice import FLATS_A_TURN, way
from alignment.reading_fields import LONGER, SHORTER


def flats_said(flats):
    """Return "4 flats longer", halves as 1/2."""
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


def whole_turns_said(flats):
    """Return "1 turn and" where there are more flats than a turn has; else nothing."""
    turns = int(abs(flats) // FLATS_A_TURN)
    if not turns:
        return ""
    said = gettext("1 turn and") if turns == 1 else gettext("%(turns)s turns and")
    return said % {"turns": turns} if turns > 1 else said
