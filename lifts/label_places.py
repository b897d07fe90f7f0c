"""The places of a warning label in words: chosen from a list, or said otherwise."""

from django.utils.safestring import mark_safe
from django.utils.translation import gettext, pgettext

from lifts.label_drawing import PLACES, drawing

ELSEWHERE = "elsewhere"
NEXT_TO = "; "


def choices():
    """Return the places as choices, each with its letter in the drawing."""
    named = [(place.name, f"{place.letter}: {gettext(place.name)}") for place in PLACES]
    return [*named, (ELSEWHERE, gettext("elsewhere"))]


def position_of(place, text):
    """Return a chosen place and what was written of it as one text."""
    return NEXT_TO.join(part for part in (place if place != ELSEWHERE else "", text) if part)


def place_in(position):
    """Return (chosen place, what was written beside) of such a text."""
    for place in PLACES:
        name, _sep, text = position.partition(NEXT_TO)
        if name == place.name:
            return name, text
    return (ELSEWHERE, position) if position else ("", "")


def picture(chosen=""):
    """Return the drawing of the places; ``chosen`` is the name of one of them."""
    named = ", ".join(f"{place.letter} {gettext(place.name)}" for place in PLACES)
    told = gettext("Places: %(places)s.") % {"places": named}
    title = gettext("Where the label is, seen from behind the driver")
    return mark_safe(drawing(title, told, pgettext("in a drawing", "here"), chosen))
