"""The code on a tyre's side into a diameter, as far as it says one. Pure.

Three kinds are read: flotation ("20x10-10": a nominal diameter, width and rim in inches), metric
("205/50-10": width in mm, height of the side wall in percent of it, rim in inches) and legacy
("4.80-8", "4.80/4.00-8": width and rim in inches, and no diameter). A measured one always wins.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from shared.units import Unreadable, gettext_noop

MM_PER_INCH = Decimal("25.4")
# A code's diameter is nominal, a tyre's wears and swells with air; judgement, no source.
TOLERANCE = Decimal("0.03")
LONGEST_CODE_CHARS = 40
# what may be a cart's tyre: the diameter that any cart's tyre may have; judgement, no source
LEAST_TYRE_MM, MOST_TYRE_MM = 200, 1_000

_INCHES = "[0-9]{1,2}(?:[.,][0-9]{1,2})?"
_RIM = rf"[-R] ?(?P<rim>{_INCHES})"
_PLIES = r"(?: ?[0-9]{1,2} ?(?:PR|PLY))?"
_FLOTATION = re.compile(rf"(?P<across>{_INCHES}) ?X ?(?P<wide>{_INCHES}) ?{_RIM}{_PLIES}")
_METRIC = re.compile(rf"(?P<wide>[1-3][0-9]{{2}}) ?/ ?(?P<ratio>[1-9][0-9]) ?{_RIM}{_PLIES}")
# A wider one is a diameter with a stroke for a times sign; judgement, no source.
_BELOW_14 = "(?:[0-9]|1[0-3])(?:[.,][0-9]{1,2})?"
_LEGACY = re.compile(rf"(?P<wide>{_BELOW_14})(?: ?/ ?{_INCHES})? ?{_RIM}{_PLIES}")


@dataclass(frozen=True)
class TyreCode:
    """What a tyre's code says; ``text`` is what was typed.

    ``diameter_mm`` is nominal or computed from the metric code, None where the code names none.
    """

    text: str
    diameter_mm: Decimal | None
    is_nominal: bool
    width_mm: Decimal
    rim_mm: Decimal


def read_tyre_code(text: str) -> TyreCode:
    """Return what the code on a tyre says; outer diameter, width and rim in mm.

    "20x10-10" is 20 in across, by name; "205/50-10" is 25.4 rim + 2 width ratio / 100;
    "4.80-8" does not say. Small letters, ×, long dashes, spaces, a decimal comma, R for a
    dash and a ply rating are read too.

    Raises ValueError naming the text for anything else, or a tyre smaller than its rim.
    """
    plain = _plain(text)
    if found := _FLOTATION.fullmatch(plain):
        across, wide, rim = (_inches_mm(found[part]) for part in ("across", "wide", "rim"))
        return _with_side_wall(TyreCode(text, across, True, wide, rim))
    if found := _METRIC.fullmatch(plain):
        wide, rim = Decimal(found["wide"]), _inches_mm(found["rim"])
        across = rim + 2 * wide * Decimal(found["ratio"]) / 100
        return _with_side_wall(TyreCode(text, across, False, wide, rim))
    if found := _LEGACY.fullmatch(plain):
        wide, rim = _inches_mm(found["wide"]), _inches_mm(found["rim"])
        return _with_side_wall(TyreCode(text, None, False, wide, rim))
    raise Unreadable(
        gettext_noop(
            "“%(text)s” is not a tyre size; write it as on the tyre, like 20x10-10, "
            "205/50-10 or 4.80-8"
        ),
        text=text[:LONGEST_CODE_CHARS],
    )


def disagrees(code: TyreCode, measured_mm: Decimal) -> bool:
    """Say whether a measured diameter is further from the code's than TOLERANCE.

    One of the two is then to be questioned; until it is, the measured one counts.

    Raises ValueError for a diameter that is not above zero.
    """
    if measured_mm <= 0:
        raise ValueError(f"measured_mm must be above zero, not {measured_mm}")
    if code.diameter_mm is None:
        return False
    return abs(measured_mm - code.diameter_mm) > TOLERANCE * code.diameter_mm


def _plain(text: str) -> str:
    dashed = re.sub("[‐‑‒–—−]", "-", text[: LONGEST_CODE_CHARS + 1])
    return re.sub(r"\s+", " ", dashed.replace("×", "x").strip()).upper().replace("- ", "-")


def _inches_mm(inches: str) -> Decimal:
    return Decimal(inches.replace(",", ".")) * MM_PER_INCH


def _with_side_wall(code: TyreCode) -> TyreCode:
    """Refuse a rim that the tyre would not reach around, as of a code read backwards."""
    sizes_mm = [code.width_mm, code.rim_mm]
    if min(sizes_mm) <= 0 or (code.diameter_mm is not None and code.diameter_mm <= code.rim_mm):
        raise Unreadable(
            gettext_noop("“%(text)s” is not a tyre size: the tyre would be no larger than its rim"),
            text=code.text[:LONGEST_CODE_CHARS],
        )
    return code
