"""Sister carts: the other lifted carts of a site that share something with one.

What counts as shared is what each cart's present lift has: its kit, U-bolt batch, fitter,
firm and week of fitting, and since then the wrenches, mechanics and the week of a round.
A constant number of queries, however many carts there are.
"""

from collections import Counter, defaultdict
from datetime import date, timedelta
from typing import NamedTuple
from uuid import uuid5

from django.db.models import Max
from django.utils.translation import gettext as _

from fleet.models import Cart, Round
from fleet.tellings import first_tellings
from lifts.models import Fitting, JointPart, Wrench
from lifts.racks import standing_facts, turned_looks
from lifts.source import LiftSource
from shared.clock import moment_of
from shared.dates import shown_day
from shared.models import Person

KIT, BATCH, FITTER, FIRM, FITTED_WEEK = "kit", "batch", "fitter", "firm", "fitted-week"
WRENCH, MECHANIC, ROUND_WEEK = "wrench", "mechanic", "round-week"
WAYS = (KIT, BATCH, FITTER, FIRM, WRENCH, MECHANIC, FITTED_WEEK, ROUND_WEEK)
WEEK = timedelta(days=7)


class Trait(NamedTuple):
    """One thing that a cart may share: in which way, and what. Texts are told apart folded."""

    way: str
    value: str

    @property
    def code(self) -> str:
        return f"{self.way}:{self.value}"


class Sisters:
    """What the other carts in the site's fleet share with ``cart``, by the facts of a cut."""

    def __init__(self, cart, cut):
        self.cart, self.site, self.cut = cart, cart.site, cut
        fleet = Cart.objects.in_fleet().filter(site=self.site)
        self.carts = fleet.exclude(pk=cart.pk).in_bulk()
        self.fittings = self._fittings()
        self.carts = {pk: one for pk, one in self.carts.items() if pk in self.fittings}
        self.words = {}
        self.own = self._own()
        self.shared = defaultdict(set)
        for pk, trait in self._others():
            if trait in self.own:
                self.shared[pk].add(trait)

    def traits(self) -> list[tuple[Trait, str, int]]:
        """Return (trait, its words, how many other carts share it) of all that the cart has."""
        counts = Counter(trait for traits in self.shared.values() for trait in traits)
        return [(one, self.words[one], counts[one]) for one in self._ordered(self.own)]

    def sharing(self, codes) -> list[tuple[Cart, list[str]]]:
        """Return (cart, all that it shares in words) of those that share any of these traits.

        Those that share most come first, then by number.
        """
        wanted = {trait for trait in self.own if trait.code in set(codes)}
        found = [(self.carts[pk], traits) for pk, traits in self.shared.items() if traits & wanted]
        found.sort(key=lambda pair: (-len(pair[1]), pair[0].number, pair[0].pk))
        return [(cart, [self.words[one] for one in self._ordered(some)]) for cart, some in found]

    def _ordered(self, traits):
        return sorted(traits, key=lambda one: (WAYS.index(one.way), self.words[one]))

    def _fittings(self):
        """Return {cart id: the fitting of its present lift}; of the cart itself its last lift."""
        spans = {}
        for lift in LiftSource().chapters([self.cart.pk, *self.carts], self.cut):
            if lift.until_at is None or lift.cart_id == self.cart.pk:
                before = spans.get(lift.cart_id, lift)
                spans[lift.cart_id] = max(before, lift, key=lambda one: one.from_at)
        ids = [lift.fitting_id for lift in spans.values()]
        fittings = Fitting.objects.select_related("kit").filter(pk__in=ids)
        return {fitting.cart_id: fitting for fitting in fittings}

    def _own(self):
        fitting = self.fittings.get(self.cart.pk)
        if fitting is None:
            return set()
        said = dict(self._of_fitting(fitting))
        said |= {trait: words for _pk, trait, words in self._used([self.cart.pk])}
        last = self._joint_rounds([self.cart.pk]).order_by("done_at").last()
        if last and last.done_at >= fitting.done_at:
            monday = self._monday(last.done_at)
            week = _("Joints gone round in the week of %s") % self._day(monday)
            said[Trait(ROUND_WEEK, monday.isoformat())] = week
        self.words = said
        return set(said)

    def _others(self):
        """Yield (cart id, trait) of the other carts."""
        for pk in self.carts:
            for trait, _words in self._of_fitting(self.fittings[pk]):
                yield pk, trait
        for pk, trait, _words in self._used(self.carts):
            yield pk, trait
        yield from self._in_round_weeks()

    def _of_fitting(self, fitting):
        """Yield (trait, its words) of a fitting; what was not recorded is nobody's."""
        monday = self._monday(fitting.done_at)
        week = monday.isoformat() if _is_day_told(fitting) else ""
        for way, said, words in (
            (KIT, fitting.kit.code, _("Kit %s") % fitting.kit.code),
            (BATCH, fitting.u_bolt_batch, _("U-bolt batch %s") % fitting.u_bolt_batch),
            (FITTER, fitting.fitted_by, _("Fitted by %s") % fitting.fitted_by),
            (FIRM, fitting.firm, _("Fitted by the firm %s") % fitting.firm),
            (FITTED_WEEK, week, _("Fitted in the week of %s") % self._day(monday)),
        ):
            folded = " ".join(said.split()).casefold()
            if folded:
                yield Trait(way, folded), words

    def _used(self, cart_ids):
        """Yield (cart id, trait, words) of the wrenches and mechanics since its fitting."""
        for way, found, names in (
            (WRENCH, self._wrenches(cart_ids), _("Wrench %s")),
            (MECHANIC, self._mechanics(cart_ids), _("Mechanic %s")),
        ):
            model = Wrench if way == WRENCH else Person
            by_id = model.objects.in_bulk({value for _cart, value, _at in found})
            for pk, value, at in found:
                if at >= self.fittings[pk].done_at:
                    yield pk, Trait(way, str(value)), names % by_id[value]

    def _wrenches(self, cart_ids):
        looks = turned_looks(self.cut).filter(fact__cart__in=list(cart_ids), wrench__isnull=False)
        by_cart = looks.order_by().values_list("fact__cart", "wrench")
        return list(by_cart.annotate(last_at=Max("fact__done_at")))

    def _mechanics(self, cart_ids):
        """Return (cart id, who, when last): who told a round first, whoever corrected it."""
        rounds = standing_facts(Round, self.cut).filter(cart__in=list(cart_ids))
        once = rounds.filter(corrects=None).order_by().values_list("cart", "by")
        again = list(rounds.filter(corrects__isnull=False))
        first = first_tellings(again)
        told = [(row.cart_id, first[row.pk].by_id, row.done_at) for row in again]
        return [*once.annotate(last_at=Max("done_at")), *told]

    def _joint_rounds(self, cart_ids):
        return standing_facts(JointPart, self.cut).filter(cart__in=list(cart_ids))

    def _in_round_weeks(self):
        """Yield the carts whose joints were gone round in the week of this cart's last time."""
        for trait in [one for one in self.own if one.way == ROUND_WEEK]:
            monday = date.fromisoformat(trait.value)
            begins, ends = (moment_of(day, 0, self.site.zone) for day in (monday, monday + WEEK))
            parts = self._joint_rounds(self.carts).filter(done_at__gte=begins, done_at__lt=ends)
            for pk, done_at in parts.values_list("cart", "done_at"):
                if done_at >= self.fittings[pk].done_at:
                    yield pk, trait

    def _day(self, day):
        return shown_day(day, self.site.date_order)

    def _monday(self, at):
        """Return the first day of the ISO 8601 week that it was at the site."""
        day = self.site.day(at)
        return day - timedelta(days=day.weekday())


def _is_day_told(fitting):
    """Whether the day of a fitting that was brought in was told: else it is the list's own."""
    return uuid5(fitting.cart_id, "fitting|unknown") not in (fitting.pk, fitting.corrects)
