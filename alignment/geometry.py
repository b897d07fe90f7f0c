"""Camber and toe from a square and a tape. Pure.

Signs follow SAE J670 and ISO 8855: camber is plus with the top of the wheel leaning out,
minus with the top leaning in; toe is plus with the front edges closer (toe-in). Left and
right wheels have the same sign for the same lean. Lengths in mm, angles in degrees.
"""

from math import asin, atan2, degrees, isfinite, radians, sin

FT_A_MILE = 5280
LAW_TIMES = 1.5  # 49 CFR 570.7(d)


def camber_deg(gap_top_mm: float, gap_bottom_mm: float, between_mm: float) -> float:
    """Return a wheel's camber in degrees, minus when its top leans in.

    The square stands upright outside the wheel; ``gap_top_mm`` and ``gap_bottom_mm`` are
    its distances to the rim at two points ``between_mm`` apart in height:
    atan((bottom - top) / between).

    Raises ValueError for a gap below zero or a height that is not above zero.
    """
    _at_least_zero("gap_top_mm", gap_top_mm)
    _at_least_zero("gap_bottom_mm", gap_bottom_mm)
    _above_zero("between_mm", between_mm)
    return degrees(atan2(gap_bottom_mm - gap_top_mm, between_mm))


def floor_deg(fall_mm: float, over_mm: float) -> float:
    """Return the slope in degrees of a floor that falls ``fall_mm`` over ``over_mm`` across.

    Raises ValueError for a fall below zero or a width that is not above zero.
    """
    _at_least_zero("fall_mm", fall_mm)
    _above_zero("over_mm", over_mm)
    return degrees(atan2(fall_mm, over_mm))


def camber_with_floor(
    left_deg: float, right_deg: float, *, fall_mm: float, over_mm: float, low_side: str
) -> tuple[float, float]:
    """Return ``(left, right)`` camber in degrees, freed of the floor's cross-fall.

    For wheels that stand level (on plates) and a square on a floor that falls to
    ``low_side``, "left" or "right": there the square leans away from the wheel and shows too
    little camber, on the other side too much. The slope is added on the low side and
    taken from the other; left plus right stays as it was.

    Raises ValueError for another side, and as ``floor_deg`` does.
    """
    if low_side not in ("left", "right"):
        raise ValueError(f"low_side must be left or right, not {low_side!r}")
    slope_deg = floor_deg(fall_mm, over_mm)
    to_left_deg = slope_deg if low_side == "left" else -slope_deg
    return left_deg + to_left_deg, right_deg - to_left_deg


def toe_mm(front_mm: float, rear_mm: float) -> float:
    """Return the toe of a pair of wheels in mm, plus for toe-in: rear less front.

    Both are taken at hub height between the tyres' centre lines, at the tyres' diameter;
    the same length on another diameter is another angle.

    Raises ValueError for a distance that is not above zero.
    """
    _above_zero("front_mm", front_mm)
    _above_zero("rear_mm", rear_mm)
    return rear_mm - front_mm


def toe_total_deg(toe_mm: float, diameter_mm: float) -> float:
    """Return the angle in degrees between both wheels, plus for toe-in: 2 asin(t / 2D).

    Raises ValueError for a diameter that is not above zero or shorter than half the toe.
    """
    _above_zero("diameter_mm", diameter_mm)
    if not abs(toe_mm) <= 2 * diameter_mm:
        raise ValueError(f"a toe of {toe_mm} mm does not fit a diameter of {diameter_mm} mm")
    return 2 * degrees(asin(toe_mm / (2 * diameter_mm)))


def toe_from_deg_mm(total_deg: float, diameter_mm: float) -> float:
    """Return the toe in mm at a diameter, plus for toe-in: 2 D sin(total / 2).

    ``total_deg`` is the angle in degrees between both wheels; ``toe_total_deg`` undone.

    Raises ValueError for a diameter that is not above zero or an angle beyond half a turn.
    """
    _above_zero("diameter_mm", diameter_mm)
    if not abs(total_deg) <= 180:
        raise ValueError(f"total_deg must lie within 180 either way, not {total_deg}")
    return 2 * diameter_mm * sin(radians(total_deg) / 2)


def side_slip_ft_a_mile(toe_mm: float, diameter_mm: float) -> float:
    """Return how far both wheels slip across, in ft a mile, plus for toe-in: 5280 toe / D.

    What a drive-over scuff gauge shows (49 CFR 570.7, table I).

    Raises ValueError for a toe that is not finite or a diameter that is not above zero.
    """
    _finite("toe_mm", toe_mm)
    _above_zero("diameter_mm", diameter_mm)
    return FT_A_MILE * toe_mm / diameter_mm


def toe_limit_mm(makers_mm: float) -> float:
    """Return the toe in mm up to which 49 CFR 570.7(d) goes: 1.5 times the maker's own.

    The sign stays: plus for toe-in. A rule for road vehicles, here only to compare with.

    Raises ValueError for a toe that is not finite.
    """
    _finite("makers_mm", makers_mm)
    return LAW_TIMES * makers_mm


def _finite(name: str, value: float) -> None:
    if not isfinite(value):
        raise ValueError(f"{name} must be finite, not {value}")


def _at_least_zero(name: str, value: float) -> None:
    if not (isfinite(value) and value >= 0):
        raise ValueError(f"{name} must be at least 0, not {value}")


def _above_zero(name: str, value: float) -> None:
    if not (isfinite(value) and value > 0):
        raise ValueError(f"{name} must be above 0, not {value}")
