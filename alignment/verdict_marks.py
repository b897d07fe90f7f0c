"""How the mark before a verdict is drawn: its pattern, and on which side of the band."""

from alignment.asking import limits_of
from alignment.judging import Result
from alignment.readings import Sheet
from alignment.uncertainty import INSIDE
from alignment.words import VERDICT_STYLES

BELOW = "below"


def style_of(sheet: Sheet, name: str, result: Result) -> str:
    """Return the end of the mark's class, and that it is at the lower limit where it is."""
    style = VERDICT_STYLES[result.verdict]
    low, high = limits_of(sheet, name)
    is_below = result.verdict != INSIDE and result.value < (low + high) / 2
    return f"{style} verdict-{BELOW}" if is_below else style
