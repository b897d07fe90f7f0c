"""What the page of a wrench found out shows: its looks by cart, and which to look at again."""

from dataclasses import dataclass
from datetime import timedelta
from itertools import groupby

from django.utils.translation import gettext as _

from fleet.models import Cart
from lifts.actions.rechecks import DUE_DAYS
from lifts.found_out import looks_found_out
from lifts.found_out_words import band_words, delivered_words, proof_words, torque
from lifts.found_since import Spoilt, spoilt_looks
from shared.dates import shown_day

CARTS_A_PAGE = 25  # with all their joints well below the fields that one form may send


@dataclass(frozen=True)
class Row:
    """One look in words. ``due`` is when its recheck would be, ``state`` why none is offered."""

    look: object
    day: str
    target: str
    got: str
    band: str
    proof: str
    again: str
    state: str
    due: str
    is_ticked: bool


class FoundOutPage:
    """All looks in doubt by a finding; ``ticked`` are those sent, None for those preset."""

    def __init__(self, site, finding, cut, ticked=None):
        self.site, self.finding, self.ticked = site, finding, ticked
        self.today = site.day(cut.happened_by)
        self.found = looks_found_out(finding, cut)
        self.spoilt = spoilt_looks(site, self.found, cut)

    @property
    def inside(self):
        """How many looks in the window its error did not spoil."""
        return len(self.found) - len(self.spoilt)

    @property
    def preset(self):
        return [one for one in self.spoilt if one.may_order and one.is_preset]

    def chosen(self, ticked):
        """Return the looks to order by the ids that were sent."""
        return [one for one in self.spoilt if one.may_order and str(one.found.look.pk) in ticked]

    def carts(self) -> list[tuple[Cart, list[Spoilt]]]:
        groups = groupby(self.spoilt, key=lambda one: one.found.look.fact.cart)
        return [(cart, list(looks)) for cart, looks in groups]

    def rows(self, spoilt) -> list[Row]:
        return [self._row(one) for one in spoilt]

    def _row(self, one):
        look, got = one.found.look, one.found.got
        return Row(
            look=look,
            day=self._day(look.fact.done_at),
            target=torque(look.target_nm, self.site),
            got=delivered_words(got, self.site),
            band=band_words(got, self.site),
            proof=proof_words(one.found),
            again=self._again(one.again),
            state=self._state(one),
            due=self._due(look) if one.may_order else "",
            is_ticked=self._is_ticked(one),
        )

    def _is_ticked(self, one):
        if self.ticked is None:
            return one.is_preset
        return str(one.found.look.pk) in self.ticked

    def _day(self, at):
        return shown_day(self.site.day(at), self.site.date_order)

    def _due(self, look):
        due_on = self.today + timedelta(days=DUE_DAYS[look.is_critical])
        return shown_day(due_on, self.site.date_order)

    def _again(self, look):
        if look is None:
            return ""
        return _("looked at again on %(day)s with %(wrench)s: %(found)s") % {
            "day": self._day(look.fact.done_at),
            "wrench": look.wrench.name,
            "found": look.get_found_display(),
        }

    def _state(self, one):
        if one.closed_at:
            return _("recheck closed on %s") % self._day(one.closed_at)
        if one.order:
            return _("recheck made on %s") % self._day(one.order.done_at)
        if not one.is_last:
            return _("see the later look at this joint")
        return _("no recheck: %s") % one.obstacle if one.obstacle else ""
