"""The tape in hand: its marks decide the unit of what is read off it, not the site."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from alignment.fields import MeasureField
from shared.units import UNITS_OF

MARKS = ("1/16 in", "1/32 in", "1/64 in", "1 mm", "0.5 mm")
USUAL_MARK = {"inch": "1/16 in", "metric": "1 mm"}
IN_ITS_UNIT = _("in the tape’s unit")


@dataclass(frozen=True)
class Tape:
    """``unit`` is meant where none is typed; ``is_chosen``: a mark was sent, so it can be said."""

    unit: str
    is_chosen: bool

    @property
    def said(self):
        return self.unit if self.is_chosen else IN_ITS_UNIT

    def length(self, label, between_mm):
        lowest, highest = between_mm
        return MeasureField(
            "length", self.unit, lowest=lowest, highest=highest, label=label, said=self.said
        )


def tape_of(mark, system):
    """Return the tape with a mark; one as usual at a site where none of MARKS was sent."""
    if mark not in MARKS:
        return Tape(UNITS_OF[system]["length"], is_chosen=False)
    return Tape(mark.rsplit(" ", 1)[1], is_chosen=True)
