"""The camber and toe sheets that a bundle tells of, with their lines."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from alignment.models import CamberToeSheet
from alignment.parts import CamberToePart
from fleet.bundle.cells import done_at
from fleet.bundle.columns import CART, MOMENT
from fleet.bundle.scope import CartAsOf
from fleet.bundle.shapes import said


@dataclass(frozen=True)
class ToldSheet:
    """One sheet; ``is_last``: the cart has no later one, as of the day."""

    cart: CartAsOf
    fact: CamberToeSheet
    lines: list
    is_last: bool

    def about(self, scope) -> dict:
        """Return the cells that say of which sheet, round and cart a row is."""
        return {
            **self.cart.named(self.fact.done_at),
            "sheet": self.fact.pk,
            "round": self.fact.round_id,
            "done_at": done_at(self.fact, scope.zone),
        }


ABOUT = (
    *CART,
    said("sheet", _("the camber and toe sheet; see alignment_sheets.csv"), field="id"),
    said("round", _("the round; see rounds.csv")),
    said("done_at", _("when it was measured"), MOMENT),
)


def told_sheets(batch) -> list[ToldSheet]:
    """Return the sheets of a batch that are the site's to tell, cart by cart, by time."""
    sheets = [(cart, fact) for cart in batch.carts for fact in sheets_in(cart, cart.own)]
    lines = CamberToePart().lines_of([fact.pk for _cart, fact in sheets]) if sheets else {}
    last = {cart.id: last_sheet(cart) for cart, _fact in sheets}
    return [
        ToldSheet(cart, fact, lines.get(fact.pk, []), fact.pk == last[cart.id].pk)
        for cart, fact in sheets
    ]


def last_sheet(cart) -> CamberToeSheet | None:
    """Return the cart's last sheet as of the day, however old."""
    return max(sheets_in(cart, cart.of_site), key=lambda fact: fact.done_at, default=None)


def sheets_in(cart, told) -> list[CamberToeSheet]:
    """Return the sheets in those of a cart's rounds that ``told`` leaves."""
    return [
        fact
        for row in told(cart.facts.rounds)
        for fact, _outcome in cart.facts.parts.get(row.pk, ())
        if isinstance(fact, CamberToeSheet)
    ]
