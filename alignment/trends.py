"""How camber and toe of one cart went from sheet to sheet: drawn, and what moved. No writes."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment.breaks import breaks_of
from alignment.counting import TOE
from alignment.drift import Visit, changes, drift, jump, moved_again, since_break
from alignment.geometry import toe_from_deg_mm
from alignment.signs import signed_deg
from alignment.site_words import Wording
from alignment.told_sheets import ANGLES, MOST_SHEETS, ToldSheet, newest, sheets_within, told_sheets
from alignment.trend_pictures import camber_drawing, spread_said, toe_drawing
from fleet.kinds import Cut
from fleet.models import Cart
from shared.dates import shown_day

SLOPE_DAYS = 100
MOST_OF_IT = 0.7  # of a change, in one step: common practice, no source
LOOK_FOR_PART = _("%(said)s%(length)s (%(since)s to %(at)s): look for a bent or worn part.")
LOOK_AGAIN = _(
    "%(said)s%(length)s (%(since)s to %(at)s). "
    "It moved again after it was put right: look for a bent or worn part."
)
MOVED = {
    "camber left": _("Left camber has moved %(change)s since it was last left"),
    "camber right": _("Right camber has moved %(change)s since it was last left"),
    TOE: _("Toe has moved %(change)s since it was last left"),
}
SINCE_FIRST = {
    "camber left": _("Left camber has moved %(change)s since it was first measured"),
    "camber right": _("Right camber has moved %(change)s since it was first measured"),
    TOE: _("Toe has moved %(change)s since it was first measured"),
}
DRIFTS = {
    "camber left": _("Left camber drifts by %(slope)s in %(days)s days"),
    "camber right": _("Right camber drifts by %(slope)s in %(days)s days"),
    TOE: _("Toe drifts by %(slope)s in %(days)s days"),
}


@dataclass(frozen=True)
class Trend:
    """What the page of one cart shows; ``told`` are its sheets, newest first."""

    told: Sequence[ToldSheet]
    is_cut: bool
    moved: Sequence[str]
    drifts: Sequence[str]
    camber: str
    toe: str
    without_diameter: int


def trend_of(cart: Cart, viewer) -> Trend:
    """Return a cart's trend as the viewer may see it; a constant number of queries."""
    cut = Cut.known_now(viewer.at)
    facts, is_cut = newest(sheets_within(cut, [cart]).visible_to(viewer), MOST_SHEETS)
    told = told_sheets(facts)
    by_time = told[::-1]
    history = _History(by_time, breaks_of([cart.pk], cut)[cart.pk], cart.site)
    return Trend(
        told=told,
        is_cut=is_cut,
        moved=list(history.moved()),
        drifts=list(history.drifts()),
        camber=camber_drawing(by_time, cart.site),
        toe=toe_drawing(by_time, cart.site),
        without_diameter=sum(TOE in one.last.results and not one.sheet.diameter_mm for one in told),
    )


@dataclass(frozen=True)
class _History:
    told: Sequence[ToldSheet]
    breaks: Sequence
    site: object

    def _visits(self, name):
        return since_break([visit_of(one, name) for one in self.told], self.breaks)

    def moved(self):
        """Yield what the newest sheet proves to have moved, and else that nothing did."""
        found = [(name, changes(self._visits(name))) for name in ANGLES]
        latest = [(name, told[-1]) for name, told in found if told]
        proved = [(name, change) for name, change in latest if change.is_proved]
        for name, change in proved:
            yield self._moved(name, change)
        if latest and not proved:
            yield gettext("Nothing has moved beyond the uncertainty of what was left and found.")

    def _moved(self, name, change):
        base = next(one for one in self.told if one.fact.done_at == change.since)
        title = (MOVED if base.is_turned(name) else SINCE_FIRST)[name]
        about = {
            "said": str(title) % {"change": spread_said(change.value, change.expanded)},
            "length": self._length(name, change.value),
            "since": self._day(change.since),
            "at": self._day(change.at),
        }
        visits = self._visits(name)
        said = str(LOOK_AGAIN if moved_again(visits) else LOOK_FOR_PART) % about
        if base.fact.is_settled is False:
            said += " " + gettext("The lift had not settled then: settling moves it too.")
        return said + self._at_once([one for one in visits if one.at >= change.since], change)

    def _at_once(self, visits, change):
        """Return between which sheets the most of it came, where that is proved."""
        step = jump(visits)
        is_all = step and (step.since, step.at) == (change.since, change.at)
        if step is None or is_all or step.value / change.value < MOST_OF_IT:
            return ""
        days = {"since": self._day(step.since), "at": self._day(step.at)}
        return " " + gettext("Most of it came between %(since)s and %(at)s.") % days

    def _length(self, name, change_deg):
        """Return a change of toe as a length at the diameter of the newest sheet."""
        diameter_mm = self.told[-1].sheet.diameter_mm
        if name != TOE or not diameter_mm:
            return ""
        wording = Wording(str(self.site.units))
        length = wording.change(TOE, toe_from_deg_mm(change_deg, diameter_mm))
        said = {"length": length, "diameter": wording.diameter(diameter_mm)}
        return gettext(", as %(length)s at %(diameter)s") % said

    def drifts(self):
        """Yield each proved drift that is no single jump, what was turned taken out."""
        for name in ANGLES:
            found = drift(self._visits(name))
            if found is not None:
                yield _drift_said(name, found)

    def _day(self, at):
        return shown_day(self.site.day(at), self.site.date_order)


def _drift_said(name, found):
    said = str(DRIFTS[name]) % {
        "slope": signed_deg(found.a_day * SLOPE_DAYS),
        "days": SLOPE_DAYS,
    }
    ends = {
        "said": said,
        "low": signed_deg(found.low * SLOPE_DAYS),
        "high": signed_deg(found.high * SLOPE_DAYS),
        "count": found.count,
    }
    return (
        gettext(
            "%(said)s (%(low)s to %(high)s, by %(count)s sheets; what was turned is taken out)."
        )
        % ends
    )


def visit_of(told: ToldSheet, name: str) -> Visit:
    """Return what one sheet says of a value, as an angle."""
    found, left = (told.angle(name, judged) for judged in (told.found, told.last))
    return Visit(told.fact.done_at, found, left, is_turned=told.is_turned(name))
