"""What a rule laid along a turned tie rod shows: how much longer or shorter it got. No writes."""

from fractions import Fraction

from django.utils.translation import gettext

from alignment.advice import LONGER, Rod, way
from alignment.site_words import Wording
from alignment.words import MM_AN_INCH

FINEST = 64  # parts of an inch on a rule


def by_rule(flats: float, rod: Rod, wording: Wording) -> str:
    """Return "By a rule the rod gets 2.5 mm (3/32 in) longer.", the site's own unit first."""
    mm = abs(flats) * rod.mm_a_flat
    metric, inches = f"{mm:.1f} mm", _inches(mm)
    length = f"{inches} ({metric})" if wording.is_inch else f"{metric} ({inches})"
    said = (
        gettext("By a rule the rod gets %s longer.")
        if way(flats) == LONGER
        else gettext("By a rule the rod gets %s shorter.")
    )
    return said % length


def _inches(mm):
    """Return the nearest fraction that a rule has: "3/32 in"."""
    whole, part = divmod(Fraction(round(mm / MM_AN_INCH * FINEST), FINEST), 1)
    said = [str(whole)] if whole or not part else []
    return " ".join([*said, *[str(part)] * bool(part), "in"])
