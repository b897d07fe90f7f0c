"""Readings into which a whole inch or a sign may have crept, each with what may have been meant."""

from dataclasses import dataclass
from fractions import Fraction

from django.utils.translation import gettext

from alignment.models import CamberReading, ToeReading
from alignment.sheets import reading_of
from alignment.signs import signed_deg
from alignment.site_words import Wording

ODD_TOE_MM = 12.7  # half an inch; beyond it a whole inch may have crept in
ODD_CAMBER_DEG = 3
NO_TOE_MM = 150
NO_CAMBER_DEG = 30
INCH_MM = 25.4
IN_INCHES = Wording("inch")
FINEST = 64


@dataclass(frozen=True)
class Odd:
    """An odd reading's line, and the question that it raises."""

    line: object
    question: str


def odd_readings(lines, wording=IN_INCHES):
    """Return those of the lines that ask whether a whole inch or a sign crept in."""
    found = [_odd_camber(one) for one in lines if isinstance(one, CamberReading)]
    found += [_odd_toe(one, wording) for one in lines if isinstance(one, ToeReading)]
    return [one for one in found if one]


def is_impossible(line):
    """Whether no cart reads so: never taken in, confirmed or not."""
    reading = reading_of(line)
    if isinstance(line, ToeReading):
        return abs(reading.mm) > NO_TOE_MM
    return abs(reading.deg) > NO_CAMBER_DEG


def _odd_toe(line, wording):
    mm = reading_of(line).mm
    if abs(mm) <= ODD_TOE_MM + 1e-9:
        return None
    said = {"n": line.pass_no, "front": line.front_typed, "rear": line.rear_typed}
    said |= {"read": wording.figure("toe", mm), "meant": _without_inch(mm)}
    question = gettext(
        "Pass %(n)s: front %(front)s, rear %(rear)s is toe %(read)s. "
        "Did a whole inch or a sign creep in? Without the inch it would be %(meant)s."
    )
    return Odd(line, question % said)


def _without_inch(mm):
    """Return the toe nearest to none that is whole inches away, as a fraction of an inch."""
    rest_mm = mm - INCH_MM * round(mm / INCH_MM)
    sixty_fourths = round(rest_mm / INCH_MM * FINEST)
    sign = "−" if sixty_fourths < 0 else "+"
    return f"{sign}{Fraction(abs(sixty_fourths), FINEST)} in"


def _odd_camber(line):
    deg = reading_of(line).deg
    if abs(deg) <= ODD_CAMBER_DEG:
        return None
    said = {"n": line.pass_no, "read": signed_deg(deg)}
    said |= {"side": line.get_side_display(), "typed": _camber_typed(line)}
    question = gettext(
        "Pass %(n)s: %(side)s wheel, %(typed)s is camber %(read)s. "
        "Did a whole inch or a sign creep in?"
    )
    return Odd(line, question % said)


def _camber_typed(line):
    if line.gauge_deg is not None:
        return gettext("gauge %(gauge)s") % {"gauge": line.gauge_typed}
    said = {"top": line.gap_top_typed, "bottom": line.gap_bottom_typed}
    return gettext("top %(top)s, bottom %(bottom)s") % said
