"""How far a reading of camber or toe may be off, and what it then proves. Pure.

After the GUM (JCGM 100:2008): a mark read to the nearest is a rectangular distribution
(4.3.7), parts combine by squares (5.1.2), the expanded uncertainty is k times (6.2.1), and
degrees of freedom combine after Welch and Satterthwaite (G.4.1). What that proves of a
limit is JCGM 106:2012. Standards and readings in mm for toe, in degrees for camber.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees, hypot, inf, isfinite, sqrt
from statistics import NormalDist, fmean

INSIDE, CANT_TELL, OUTSIDE = "inside", "can't tell", "outside"

COVERAGE = 2  # about 95 %: JCGM 100:2008 6.3.3
# How well one reading repeats by hand: common practice, no source.
CAMBER_REPEAT_DEG = 0.10
TOE_REPEAT_MM = 0.02 * 25.4
# 99 % quantiles of chi-square with count - 1 degrees of freedom, by count of readings.
SCATTER_BOUNDS = {2: 6.6349, 3: 9.2103, 4: 11.3449, 5: 13.2767}


@dataclass(frozen=True)
class Component:
    """A standard uncertainty and its degrees of freedom, ``inf`` where it is taken as known.

    Raises ValueError for a standard below zero or freedom that is not above zero.
    """

    standard: float
    freedom: float = inf

    def __post_init__(self) -> None:
        if not (isfinite(self.standard) and self.standard >= 0):
            raise ValueError(f"standard must be at least 0, not {self.standard}")
        if not self.freedom > 0:
            raise ValueError(f"freedom must be above 0, not {self.freedom}")


@dataclass(frozen=True)
class Combined(Component):
    """What components amount to; itself a component of a sum or a difference."""

    @property
    def expanded(self) -> float:
        """The uncertainty as said: COVERAGE times the standard one, whatever the freedom."""
        return COVERAGE * self.standard


def combined(*components: Component) -> Combined:
    """Return independent components of one unit as one, each already times its sensitivity.

    The root of the sum of squares (JCGM 100:2008 5.1.2), with the effective degrees of
    freedom u^4 / sum(u_i^4 / v_i) (Welch-Satterthwaite, G.4.1): not cut to a whole number.

    Raises ValueError without a component.
    """
    if not components:
        raise ValueError("components must hold one at least, not none")
    standard = hypot(*(one.standard for one in components))
    if standard == 0:
        return Combined(0.0)
    shares = sum((one.standard / standard) ** 4 / one.freedom for one in components)
    return Combined(standard, 1 / shares if shares else inf)


def mark_standard(mark: float) -> float:
    """Return the standard uncertainty of one reading to the nearest ``mark``, in its unit.

    Half a mark either way, rectangular: mark / 2 / sqrt(3) (JCGM 100:2008 4.3.7).

    Raises ValueError for a mark that is not above zero.
    """
    _above_zero("mark", mark)
    return mark / 2 / sqrt(3)


def mean_of_groups(*groups: Sequence[float]) -> float:
    """Return the mean of the groups' means; groups without a reading are left out.

    One group as the wheel stood and one after half a turn: a bent rim, which adds to one
    and takes from the other, cancels however many readings each has.

    Raises ValueError without a reading.
    """
    return fmean(fmean(group) for group in _filled(groups))


def count_of_groups(*groups: Sequence[float]) -> float:
    """Return how many readings of one group ``mean_of_groups`` repeats as well as.

    Each of g means weighs 1/g, so its variance is s^2 sum(1 / n_i) / g^2: the count is
    g^2 / sum(1 / n_i), that of all readings where the groups are equally long.

    Raises ValueError without a reading.
    """
    filled = _filled(groups)
    return len(filled) ** 2 / sum(1 / len(group) for group in filled)


def pooled_repeat(groups: Sequence[Sequence[float]], default: float) -> Component:
    """Return how one reading repeats, in its unit: the larger of ``default`` and the scatter.

    The scatter is pooled within the groups, s^2 = sum((n_i - 1) s_i^2) / sum(n_i - 1), so
    that what lies between them (a bent rim) is no repeat; its freedom is sum(n_i - 1)
    (JCGM 100:2008 4.2.4). ``default`` counts as known.

    Raises ValueError without a reading, or for a ``default`` below zero.
    """
    filled = _filled(groups)
    freedom = sum(len(group) - 1 for group in filled)
    squares = sum(_squares(group) for group in filled)
    scatter = sqrt(squares / freedom) if freedom else 0.0
    return Component(scatter, freedom) if scatter > default else Component(default)


def toe_standard_at(mark_mm: float, count: float, *, repeat: Component) -> Combined:
    """Return the uncertainty in mm of the mean of ``count`` readings of toe.

    Each is the difference of two tape readings to the nearest ``mark_mm``:
    u^2 = 2 (mark / 2 / sqrt(3))^2 + s^2 / n. The tape's share does not shrink by repeating.

    Raises ValueError for a mark or a count that is not above zero.
    """
    ends = Component(mark_standard(mark_mm))
    return combined(ends, ends, _of_mean(repeat, count))


def square_standard_at(
    mark_mm: float, count: float, *, between_mm: float, repeat: Component
) -> Combined:
    """Return the uncertainty in degrees of the mean of ``count`` cambers by a square.

    Two gaps to the nearest ``mark_mm``, as an angle over ``between_mm``, and the repeat:
    u^2 = 2 (mark / 2 / sqrt(3) / between)^2 + s^2 / n. Taken at an upright wheel, where a
    gap moves the angle most.

    Raises ValueError for a mark, a height or a count that is not above zero.
    """
    _above_zero("between_mm", between_mm)
    gap = Component(degrees(mark_standard(mark_mm) / between_mm))
    return combined(gap, gap, _of_mean(repeat, count))


def gauge_standard_at(mark_deg: float, count: float, *, repeat: Component) -> Combined:
    """Return the uncertainty in degrees of the mean of ``count`` cambers by a gauge.

    Raises ValueError for a mark or a count that is not above zero.
    """
    return combined(Component(mark_standard(mark_deg)), _of_mean(repeat, count))


def toe_standard(mark_mm: float, *groups_mm: Sequence[float]) -> Combined:
    """Return the uncertainty in mm of the mean of these readings of toe."""
    repeat = pooled_repeat(groups_mm, TOE_REPEAT_MM)
    return toe_standard_at(mark_mm, count_of_groups(*groups_mm), repeat=repeat)


def square_standard(mark_mm: float, between_mm: float, *groups_deg: Sequence[float]) -> Combined:
    """Return the uncertainty in degrees of the mean of these groups of cambers by a square."""
    repeat = pooled_repeat(groups_deg, CAMBER_REPEAT_DEG)
    count = count_of_groups(*groups_deg)
    return square_standard_at(mark_mm, count, between_mm=between_mm, repeat=repeat)


def gauge_standard(mark_deg: float, *groups_deg: Sequence[float]) -> Combined:
    """Return the uncertainty in degrees of the mean of these groups of cambers by a gauge."""
    repeat = pooled_repeat(groups_deg, CAMBER_REPEAT_DEG)
    return gauge_standard_at(mark_deg, count_of_groups(*groups_deg), repeat=repeat)


def scatters(readings: Sequence[float], standard_of_one: float) -> bool:
    """Say whether readings of one thing lie farther apart than they should.

    Their sample variance is more than ``standard_of_one`` squared (mark and default repeat
    of one reading, in their unit) explains in 99 of 100 sets: (n - 1) s^2 / u^2 is above
    the chi-square quantile. Fewer than two readings never scatter.

    Raises ValueError for more than five readings or a standard that is not above zero.
    """
    _above_zero("standard_of_one", standard_of_one)
    if len(readings) < 2:
        return False
    if len(readings) not in SCATTER_BOUNDS:
        raise ValueError(f"readings must hold five at most, not {len(readings)}")
    return _squares(readings) > SCATTER_BOUNDS[len(readings)] * standard_of_one**2


def verdict(value: float, low: float, high: float, expanded: float) -> str:
    """Return "inside", "can't tell" or "outside" for a value against [low, high].

    Inside and outside are proved: the value with its ``expanded`` uncertainty, all in one
    unit, lies wholly within or wholly beyond the limits. A guard band of the whole expanded
    uncertainty on both sides (JCGM 106:2012 8.3).

    Raises ValueError for crossed limits or an uncertainty below zero.
    """
    _in_order(low, high)
    if not expanded >= 0:
        raise ValueError(f"expanded must be at least 0, not {expanded}")
    if low + expanded <= value <= high - expanded:
        return INSIDE
    if value < low - expanded or value > high + expanded:
        return OUTSIDE
    return CANT_TELL


def probability_inside(value: float, low: float, high: float, standard: float) -> float:
    """Return how probable it is, 0 to 1, that what was measured lies within [low, high].

    Normal about ``value`` with the ``standard`` uncertainty, all in one unit, nothing known
    beforehand (JCGM 106:2012 7.2 to 7.4). A limit may be infinite; a standard of zero
    decides.

    Raises ValueError for a value that is not finite, crossed limits, or a standard below
    zero.
    """
    _in_order(low, high)
    if not isfinite(value):
        raise ValueError(f"value must be finite, not {value}")
    if not (isfinite(standard) and standard >= 0):
        raise ValueError(f"standard must be at least 0, not {standard}")
    if standard == 0:
        return float(low <= value <= high)
    unit = NormalDist()
    return unit.cdf((high - value) / standard) - unit.cdf((low - value) / standard)


def _squares(group: Sequence[float]) -> float:
    mean = fmean(group)
    return sum((one - mean) ** 2 for one in group)


def _of_mean(repeat: Component, count: float) -> Component:
    _above_zero("count", count)
    return Component(repeat.standard / sqrt(count), repeat.freedom)


def _filled(groups: Sequence[Sequence[float]]) -> list[Sequence[float]]:
    filled = [group for group in groups if group]
    if not filled:
        raise ValueError("readings must hold one at least, not none")
    return filled


def _above_zero(name: str, value: float) -> None:
    if not (isfinite(value) and value > 0):
        raise ValueError(f"{name} must be above 0, not {value}")


def _in_order(low: float, high: float) -> None:
    if not low <= high:
        raise ValueError(f"low must not be above high, not {low} and {high}")
