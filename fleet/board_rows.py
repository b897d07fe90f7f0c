"""Makes the board's rows: strings alone, since a template draws those quickest."""

from itertools import groupby
from typing import NamedTuple

from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from fleet.board import SECTIONS, STATE_WORDS, TITLES, Place, place_of, section_of
from fleet.due import state_on
from fleet.models import Cart
from fleet.orders import orders_said
from fleet.why_now import what, when, why_now

PAGE_ROWS = 50
RESTS = {Cart.Condition.LAID_UP: _("laid up"), Cart.Condition.ON_STANDS: _("on stands")}


class Row(NamedTuple):
    """One line of the board, as printed."""

    state: str
    state_word: str
    number: str
    cart_url: str
    round_url: str
    what: str
    why: str
    when: str
    since: str
    minutes: str
    bay: str
    is_tagged: bool
    is_unproven: bool
    is_label_missing: bool
    rests: str


class Section(NamedTuple):
    title: str
    is_grave: bool
    count: int
    rows: list[Row]


class Maker:
    """Makes rows for one site on one day."""

    def __init__(self, site, today, label_missing=frozenset()):
        self.site, self.today, self.label_missing = site, today, label_missing
        self.orders = {}
        self.carts_url = reverse("cart-list", args=[site.slug])

    def row(self, work):
        state = state_on(work, self.today)
        cart_url = f"{self.carts_url}{work.cart_id}/"
        due, since = when(work, self.today, self.site)
        return Row(
            state=state,
            state_word=str(STATE_WORDS[state]),
            number=work.number,
            cart_url=cart_url,
            round_url=f"{cart_url}round/",
            what=what(work),
            why=self.why(work),
            when=due,
            since=since,
            minutes=str(work.minutes),
            bay=" · ".join(part for part in (work.area, work.bay) if part),
            is_tagged=work.is_tagged,
            is_unproven=work.is_unproven,
            is_label_missing=work.cart_id in self.label_missing,
            rests=str(RESTS.get(work.condition, "")),
        )

    def why(self, work):
        said = (why_now(work, self.today, self.site), self.orders.get(work.anchor_id))
        return "; ".join(filter(None, said))

    def sections(self, works, counts):
        """Return (section, rows) in the board's order; ``works`` are in that order."""
        self.orders = orders_said(works)
        found = groupby(works, key=lambda work: section_of(work, self.today))
        return [
            Section(
                str(TITLES[name]),
                name == SECTIONS[1],
                counts.get(name, 0),
                [self.row(work) for work in some],
            )
            for name, some in found
        ]


class Page(NamedTuple):
    """A page of the board; ``next`` is the place after which the following one begins."""

    works: list
    next: Place | None


def page_of(rows, today):
    """Cut one page off; ``rows`` hold at most one more than it shows."""
    works = [work for _section, work in rows]
    if len(works) <= PAGE_ROWS:
        return Page(works, None)
    return Page(works[:PAGE_ROWS], place_of(works[PAGE_ROWS - 1], today))
