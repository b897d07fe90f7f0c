"""A site's work, its carts and the desk's answers as of two moments, from the facts alone.

Nothing that was known later, or of something that happened later, changes any of it.
"""

import heapq
from collections import Counter
from dataclasses import dataclass
from datetime import date

from fleet.board import LATER, Work, place_in, place_of, section_at
from fleet.desk import in_lines, said_in
from fleet.due import state_on
from fleet.gather import ground_of, site_stays
from fleet.models import Cart, CartNumber
from fleet.past_sites import site_at
from fleet.projection import Projected, projected
from fleet.recheck_rows import RecheckRow
from fleet.reported import unanswered_at
from fleet.standing import CartFacts, facts_for_dates, facts_of
from shared.models import Change, Entry, Site
from shared.seldom import seldom_collecting

BATCH_CARTS = 200


@dataclass
class CartThen:
    """One cart as its facts within a cut have it; its rows are unsaved.

    ``site`` is the cart's site as it was, ``day`` the day there on which states are judged.
    """

    made: Projected
    site: Site
    day: date

    @property
    def facts(self) -> CartFacts:
        return self.made.facts

    @property
    def row(self) -> Cart:
        return self.made.cart

    @property
    def numbers(self) -> list[CartNumber]:
        return self.made.numbers

    @property
    def rechecks(self) -> list[RecheckRow]:
        return self.made.rechecks

    @property
    def active(self):
        return [self.made.recheck(plan) for plan in self.made.active]

    @property
    def works(self):
        return [Work.of(recheck, self.row) for recheck in self.active]

    @property
    def shown(self):
        """What the board shows of it, as (section, recheck): no row is made of the rest."""
        for plan in self.made.active:
            section = section_at(plan.dates, self.row, self.day)
            if section != LATER:
                yield section, self.made.recheck(plan)

    @property
    def tags(self):
        return self.facts.open_tags()

    @property
    def said(self):
        """The desk's answer."""
        states = {state_on(plan.dates, self.day) for plan in self.made.active}
        return said_in(self.row, states, self.site)


def carts_at(site, cut):
    """Yield a CartThen for each cart that was at the site, batch by batch."""
    ids = _cart_ids(site, cut)
    for start in range(0, len(ids), BATCH_CARTS):
        for cart in _carts(facts_for_dates(ids[start : start + BATCH_CARTS], cut), cut):
            if cart.row.site_id == site.pk:
                yield cart


def cart_at(site, cart_id, cut) -> CartThen | None:
    """Return one cart that was at the site, None for one that was not known there."""
    found = [cart for cart in _carts(facts_of([cart_id], cut), cut) if cart.row.site_id == site.pk]
    return found[0] if found else None


def _cart_ids(site, cut):
    """Return every cart of which the site's journal tells by then."""
    entries = Entry.objects.filter(site=site, kind=Change.kind(), cart_id__isnull=False)
    entries = entries.filter(received_at__lte=cut.known_by)
    return sorted(entries.order_by().values_list("cart_id", flat=True).distinct())


def _carts(read, cut):
    known = [facts for facts in read.values() if site_stays(facts)]
    ground = ground_of(known, cut)
    for facts in known:
        yield _cart(facts, ground, cut)


def _cart(facts, ground, cut):
    made = projected(facts, ground)
    site = ground.sites[made.cart.site_id]
    made.cart.site = site
    day = site.day(cut.happened_by)
    return CartThen(made, site, day)


def work_at(site, cut):
    """Return [(section, Work)] of the site's carts in the board's order."""
    day = site_at(site, cut).day(cut.happened_by)
    told = (
        (section, Work.of(recheck, cart.row))
        for cart in carts_at(site, cut)
        for section, recheck in cart.shown
    )
    return sorted(told, key=lambda pair: place_of(pair[1], day))


def desk_at(site, cut):
    """Return the desk's lines, one for each cart that was in the fleet, by number."""
    carts = (cart for cart in carts_at(site, cut) if cart.row.condition != Cart.Condition.LEFT)
    said = [cart.said for cart in carts]
    said.sort(key=lambda one: (one.cart.number, one.cart.pk))
    return in_lines(said, unanswered_at(site, cut))


class BoardThen:
    """What the board showed: counts by section, carts by mark, tags, and the first works.

    ``works`` are the first ``rows`` after a place, in the board's order.
    """

    @seldom_collecting()
    def __init__(self, site, cut, *, after=None, rows):
        self.site = site_at(site, cut)
        self.day = self.site.day(cut.happened_by)
        self.counts, self.fleet = Counter(), Counter()
        self.tags, self.reports = [], []
        self.unanswered = list(unanswered_at(site, cut).select_related("by"))
        shown = (told for told in self._told(site, cut) if after is None or told[0] > after)
        first = heapq.nsmallest(rows, shown)
        self.works = [Work.of(recheck, row) for _place, recheck, row in first]

    def _told(self, site, cut):
        """Yield (place, recheck, cart), counting all that goes by: one pass over the fleet."""
        for cart in carts_at(site, cut):
            self._count(cart)
            for section, recheck in cart.shown:
                self.counts[section] += 1
                yield place_in(section, recheck), recheck, cart.row

    def _count(self, cart):
        row = cart.row
        self.tags += [(tag, row) for tag in cart.tags]
        self.reports += [(one, row) for one in self.unanswered if one.cart_id == row.pk]
        if row.condition != Cart.Condition.LEFT:
            marks = {
                "all": True,
                "lifted": row.is_lifted,
                "unproven": row.is_unproven,
                "laid_up": row.condition == Cart.Condition.LAID_UP,
            }
            self.fleet.update(mark for mark, is_so in marks.items() if is_so)
