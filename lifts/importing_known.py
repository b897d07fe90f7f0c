"""What is recorded already of the carts whose lifts a sheet tells, read for many at once."""

from collections import defaultdict
from dataclasses import dataclass, field

from fleet.gather import JOINED, STARTED_UP
from fleet.importing.known import meter_facts_of
from fleet.importing.metering import CartMeters
from fleet.models import Cart
from fleet.standing import FOREVER
from lifts.models import Fitting, Removal
from shared.models import Site

TOLD = "told"


@dataclass
class KnownCart:
    """A cart with its meters, its fittings that stand, and the ids of all it ever had."""

    cart: Cart
    facts: object
    meters: CartMeters
    fittings: list[Fitting] = field(default_factory=list)
    removals: list[Removal] = field(default_factory=list)
    ids: set = field(default_factory=set)

    def fitting_like(self, row, fitting_id):
        """Return the fitting that a row tells again, None for a new one."""
        for fitting in self.fittings:
            if fitting.pk == fitting_id or self._is_same_day(fitting, row.fitted_on):
                return fitting
        last = self.fittings[-1] if self.fittings else None
        is_last = row.fitted_on is None and last and row.kit and last.kit.code == row.kit.code
        return last if is_last else None

    def _is_same_day(self, fitting, day):
        return day is not None and self.cart.site.day(fitting.done_at) == day

    def is_last(self, done_at) -> bool:
        """Whether a lift fitted at a moment would still be on the cart."""
        return not any(fact.done_at > done_at for fact in (*self.fittings, *self.removals))

    @property
    def has_started(self) -> bool:
        return any(change.what == STARTED_UP for change in self.facts.changes)

    @property
    def joined_at(self):
        return min(change.done_at for change in self.facts.changes if change.what == JOINED)

    def told_of(self, fitting_id) -> dict:
        """Return what was told last of a fitting."""
        told = [
            change.value
            for change in self.facts.changes
            if change.what == TOLD and change.value.get("fitting") == str(fitting_id)
        ]
        return told[-1] if told else {}


def known_carts(cart_ids, site) -> dict:
    """Return {cart id: KnownCart}."""
    ids = list(cart_ids)
    facts = meter_facts_of(ids)
    sites = Site.objects.in_bulk({c.site_id for f in facts.values() for c in f.changes})
    carts = Cart.objects.select_related("site").in_bulk(ids)
    found = {pk: KnownCart(carts[pk], facts[pk], CartMeters(facts[pk], sites, site)) for pk in ids}
    ever = defaultdict(set)
    for pk, cart_id in Fitting.objects.filter(cart_id__in=ids).values_list("pk", "cart_id"):
        ever[cart_id].add(pk)
    for name, model in (("fittings", Fitting), ("removals", Removal)):
        rows = model.objects.standing(FOREVER).filter(cart_id__in=ids)
        rows = rows.select_related("kit") if model is Fitting else rows
        for fact in rows.order_by("done_at", "id"):
            getattr(found[fact.cart_id], name).append(fact)
    for pk, known in found.items():
        known.ids = ever[pk]
    return found
