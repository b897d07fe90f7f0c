"""Figures of camber and toe as a site's pages say them: its own unit of length comes first."""

from dataclasses import dataclass
from fractions import Fraction

from django.utils.translation import gettext

from alignment import words
from alignment.asking import INCH_MARKS_MM
from alignment.counting import TOE
from alignment.signs import signed_deg, with_minus

INCH = "inch"
SAME_MM = 1e-3


@dataclass(frozen=True)
class Wording:
    """How a site's pages say a figure; ``mark_mm`` is the tape's, 0 where none is meant."""

    units: str
    mark_mm: float = 0.0

    @property
    def is_inch(self) -> bool:
        return self.units == INCH

    def figure(self, name: str, value: float) -> str:
        """Return what was read or is to be read: "+0.197 in (about 3/16 in, +5.0 mm)"."""
        return (
            self._both(name, value, fraction=self._fraction(value))
            if name == TOE
            else signed_deg(value)
        )

    def change(self, name: str, value: float) -> str:
        """Return what a value changes by, which no tape is held to."""
        return self._both(name, value) if name == TOE else signed_deg(value)

    def spread(self, name: str, expanded: float) -> str:
        if name != TOE or not self.is_inch:
            return words.spread(name, expanded)
        return f"±{words.inches(expanded)} in ({expanded:.1f} mm)"

    def alone(self, name: str, value: float) -> str:
        """Return a value in one unit, as beside a drawing."""
        if name != TOE:
            return signed_deg(value)
        return with_minus(f"{words.inches(value):+} in" if self.is_inch else f"{_mm(value):+} mm")

    def scale(self, name: str, value: float) -> str:
        """Return a number of a scale: an angle to a tenth, and nought without a sign."""
        if value == 0:
            unit = "°" if name != TOE else " in" if self.is_inch else " mm"
            return f"0{unit}"
        return with_minus(f"{value:+.1f}°") if name != TOE else self.alone(name, value)

    def diameter(self, mm: float) -> str:
        inches, metric = f"{mm / words.MM_AN_INCH:.4g} in", f"{mm:.0f} mm"
        return f"{inches} ({metric})" if self.is_inch else f"{metric} ({inches})"

    def _both(self, name, mm, *, fraction=""):
        inches, metric = f"{words.inches(mm):+} in", f"{_mm(mm):+} mm"
        if not self.is_inch:
            return with_minus(f"{metric} ({inches})")
        return with_minus(f"{inches} ({fraction}{metric})")

    def _fraction(self, mm):
        """Return the nearest fraction of the tape's marks, empty where that is none or nought."""
        parts = _parts(self.mark_mm)
        marks = round(mm / words.MM_AN_INCH * parts)
        if not (self.is_inch and marks):
            return ""
        said = f"{'-' if marks < 0 else ''}{_mixed(Fraction(abs(marks), parts))} in, "
        is_exact = abs(mm - marks * self.mark_mm) < SAME_MM
        return said if is_exact else gettext("about %s") % said


def wording_of(sheet, site) -> Wording:
    return Wording(str(site.units), sheet.mark_mm)


def _mm(mm):
    return words.half_up(mm, "0.1")


def _parts(mark_mm):
    """Return the marks to an inch; none on a tape in mm."""
    is_inch = any(abs(mark_mm - mark) < SAME_MM for mark in INCH_MARKS_MM)
    return round(words.MM_AN_INCH / mark_mm) if is_inch else 0


def _mixed(fraction):
    whole, rest = divmod(fraction, 1)
    return " ".join([str(whole)] * bool(whole) + [str(rest)] * bool(rest))
