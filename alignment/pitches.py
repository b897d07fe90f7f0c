"""The pitch of a thread as it is said: "1.25 mm", or so many threads an inch. Pure."""

import re
from decimal import Decimal

from shared.units import LONGEST_QUANTITY_CHARS, Measure, Unreadable, read_number, read_quantity

MM_AN_INCH = Decimal("25.4")  # NIST SP 811 (2008) App. B: exact
FINEST_MM, COARSEST_MM = Decimal("0.25"), Decimal(6)
_AN_INCH = re.compile(
    r"(?P<count>[0-9.,]+) *(?:tpi|(?:threads? *)?(?:an?|per|to the|/) *(?:inch|in|[\"″]))\.?",
    re.IGNORECASE,
)
SAY_WHICH = "“%(text)s”: say mm, or how many threads an inch: 1.25 mm, or 20 an inch"
NO_PITCH = "“%(text)s” is no pitch of a thread"


def read_pitch(text: str) -> Measure:
    """Return a pitch as a Measure in mm, from "1.25 mm", "0.05 in", "20 an inch" or "20 tpi".

    A bare number is neither. Raises Unreadable, naming the text, for that, for what is no
    number, and for a pitch outside 0.25 to 6 mm.
    """
    text = text.strip()
    said = {"text": text[:LONGEST_QUANTITY_CHARS]}
    found = _AN_INCH.fullmatch(text)
    if found is None and re.fullmatch(r"[0-9.,/ ]+", text):
        raise Unreadable(SAY_WHICH, **said)
    measure = _of_count(text, found["count"]) if found else read_quantity(text, "length", "mm")
    if not FINEST_MM <= measure.si <= COARSEST_MM:
        raise Unreadable(NO_PITCH, **said)
    return measure


def _of_count(text, count) -> Measure:
    number = read_number(count)
    if not number:
        raise Unreadable(NO_PITCH, text=text[:LONGEST_QUANTITY_CHARS])
    return Measure(text, number, "in", MM_AN_INCH / number)
