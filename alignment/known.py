"""What is known of a visit's cart before its sheet: figures, use since the fitting, kerb hits."""

from functools import cached_property

from django.utils.translation import gettext

from alignment.kerb_hits import hit_since_last_sheet
from alignment.learnt import learnt
from alignment.settled import use_since_fitting
from alignment.specs import figures_at, kit_code_of
from alignment.use_words import use_said


class Known:
    """Each asked once, of when it was done, as known when the page was opened: the same when sent.

    A sheet that is told again is no part of what was known before it.
    """

    def __init__(self, visit):
        self.cart, self.site, self.cut = visit.cart, visit.site, visit.cut
        self.retold = visit.corrects

    @cached_property
    def kit_code(self):
        return kit_code_of(self.cart.pk, self.cut)

    @cached_property
    def figures(self):
        return figures_at(self.site, self.kit_code, self.cut)

    @cached_property
    def use(self):
        """The use since the fitting; None without a lift, or where none is known."""
        return use_since_fitting(self.cart, self.cut)

    @cached_property
    def learnt(self):
        """What turns really did on this cart and on carts with its kit."""
        return learnt(
            self.cart,
            self.kit_code,
            self.cut,
            steering=self.figures.steering,
            but_round=self.retold,
        )

    @cached_property
    def kerb_hit(self):
        return hit_since_last_sheet(self.cart, self.cut, but_round=self.retold)

    def said(self):
        """Yield what a mechanic is to know of the cart before measuring."""
        if self.use is not None:
            yield _use_said(self.use, str(self.site.units))
        elif self.kit_code:
            yield gettext("What it ran since the fitting is not known.")
        if self.kerb_hit:
            yield gettext("A kerb hit was reported since the last sheet.")


def _use_said(use, units):
    said = {"use": use_said(use.hours, use.km, units)}
    if use.is_settled:
        return gettext("%(use)s since the fitting: settled.") % said
    return gettext("%(use)s since the fitting: not settled, measured as provisional.") % said
