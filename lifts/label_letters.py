"""What the measured letters of a warning label amount to: they inform, and close nothing."""

from decimal import Decimal

from django.utils.translation import gettext

from lifts.lettering import (
    INSIDE,
    OUTSIDE,
    TYPE_SIZES,
    legibility,
    needed_height_mm,
    signal_word_needed_mm,
)
from shared.units import shown

SOURCE = "type sizes: ANSI Z535.4-2011 Annex B by a label maker's page, the standard not read"
HUNDREDTH = Decimal("0.01")
SIGNAL_SOURCE = "1.5 times a capital: ANSI Z535.2 by a page on viewing distances, not read"


def letters_said(check):
    """Yield (what, verdict, detail) for the letters and the signal word that were measured."""
    if None not in (check.letters_mm, check.seat_mm):
        verdict = legibility(check.letters_mm, check.seat_mm)
        needed = needed_height_mm(check.seat_mm)
        said = f"capitals {_mm(check.letters_mm)} read from {_mm(check.seat_mm)}"
        asked = f", asked {_mm(needed)}" if needed else ""
        yield gettext("letters of the label"), verdict, f"{said}{asked}; {SOURCE}"
    if None not in (check.letters_mm, check.signal_word_mm):
        needed = signal_word_needed_mm(check.letters_mm)
        verdict = INSIDE if check.signal_word_mm >= needed else OUTSIDE
        said = f"{_mm(check.signal_word_mm)}, asked {_mm(needed)}"
        yield gettext("signal word of the label"), verdict, f"{said}; {SIGNAL_SOURCE}"


def is_too_small(check):
    return any(verdict == OUTSIDE for _what, verdict, _detail in letters_said(check))


def _mm(value):
    return f"{value.quantize(HUNDREDTH).normalize():f} mm"


def letters_asked(units):
    """Return (read from, capitals of at least) for each distance of the table."""
    return [
        (shown(upto_mm, "length", units, places=1), _mm(needed_height_mm(upto_mm)))
        for upto_mm, _size_pt in TYPE_SIZES
    ]
