"""Grease counted in grams, and when another one must drive out what was there. Pure."""

from collections.abc import Iterable
from decimal import Decimal


def grams_given(grams_a_stroke: Decimal, given: Iterable[tuple[int, int]]) -> Decimal:
    """Return the grams of grease pumped in: 1.2 g × 4 strokes × 8 fittings = 38.4 g.

    ``given`` holds (strokes at each fitting, how many fittings) of each grease point.

    Raises ValueError for a gun that gives nothing.
    """
    if grams_a_stroke <= 0:
        raise ValueError(f"grams_a_stroke must be above zero, not {grams_a_stroke}")
    return grams_a_stroke * sum(strokes * fittings for strokes, fittings in given)


def must_purge(before: str | None, now: str | None) -> bool:
    """Return whether a thickener meets another one; one that is not known tells nothing.

    Two thickeners are not mixed: common practice, no source.
    """
    return None not in (before, now) and before != now
