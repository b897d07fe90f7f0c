"""How tall the letters of a warning label or a tag must be, by who reads them where. Pure.

What is measured on a label is the height of a capital letter. Sources give type sizes, which
are taller: CAPITAL_SHARE turns one into the other.
"""

from decimal import Decimal

MM_PER_FOOT = Decimal("304.8")  # exact: NIST SP 811 (2008) App. B.8
# A type size is counted in points of 1/72 in: common practice, no source.
MM_PER_POINT = Decimal("25.4") / 72
# Height of a capital as a share of its type size, in plain sans-serif; judgement, no source.
CAPITAL_SHARE = Decimal("0.70")

# (farthest distance, type size in points): ANSI Z535.4-2011 Annex B, by a label maker's
# page on word messages; the standard itself was not read.
TYPE_SIZES = (
    (2 * MM_PER_FOOT, 10),
    (3 * MM_PER_FOOT, 12),
    (4 * MM_PER_FOOT, 14),
    (5 * MM_PER_FOOT, 16),
)
# Times a capital of the message: ANSI Z535.2, by a page on viewing distances; not read itself.
SIGNAL_WORD_TIMES = Decimal("1.5")
# From where a tag's signal word must be readable, printed as 5 ft (1.52 m).
TAG_READ_FROM_M = Decimal("1.52")  # 29 CFR 1910.145(f)(4)

INSIDE, OUTSIDE, NOT_IN_TABLE = "inside", "outside", "not in the table"


def needed_type_pt(distance_mm: Decimal) -> int | None:
    """Return the type size in points for a message read from here; None beyond the table.

    Between two distances of TYPE_SIZES the longer one's size: the steps are no straight line.

    Raises ValueError for a distance that is not above zero.
    """
    _refuse_not_above_zero(distance_mm=distance_mm)
    return next((size_pt for upto_mm, size_pt in TYPE_SIZES if distance_mm <= upto_mm), None)


def needed_height_mm(distance_mm: Decimal) -> Decimal | None:
    """Return how tall a message's capitals must be, in mm; None beyond the table.

    Raises ValueError for a distance that is not above zero.
    """
    size_pt = needed_type_pt(distance_mm)
    return None if size_pt is None else size_pt * MM_PER_POINT * CAPITAL_SHARE


def signal_word_needed_mm(message_height_mm: Decimal) -> Decimal:
    """Return how tall the signal word must be for capitals of the message this tall, in mm.

    Raises ValueError for a height that is not above zero.
    """
    _refuse_not_above_zero(message_height_mm=message_height_mm)
    return SIGNAL_WORD_TIMES * message_height_mm


def legibility(letter_height_mm: Decimal, distance_mm: Decimal) -> str:
    """Return inside or outside for capitals this tall read from here, or not in the table.

    Raises ValueError for a height or a distance that is not above zero.
    """
    _refuse_not_above_zero(letter_height_mm=letter_height_mm)
    needed_mm = needed_height_mm(distance_mm)
    if needed_mm is None:
        return NOT_IN_TABLE
    return INSIDE if letter_height_mm >= needed_mm else OUTSIDE


def tag_legibility(read_from_m: Decimal) -> str:
    """Return inside or outside for a tag whose signal word was read from here, no farther.

    Raises ValueError for a distance that is not above zero.
    """
    _refuse_not_above_zero(read_from_m=read_from_m)
    return INSIDE if read_from_m >= TAG_READ_FROM_M else OUTSIDE


def _refuse_not_above_zero(**values: Decimal) -> None:
    for name, value in values.items():
        if not value > 0:
            raise ValueError(f"{name} must be above zero, not {value}")
