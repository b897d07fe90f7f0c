"""What the records of a cart's lift lack, for the gaps of the bundle."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.exception_tables import is_in_fleet
from lifts.label_letters import is_too_small
from lifts.models import Fitting, LabelCheck

OF_FITTING = {
    "fitted_by": _("who fitted the lift"),
    "rise_front_mm": _("measured rise in front"),
    "rise_rear_mm": _("measured rise in the rear"),
    "tyre_after": _("tyres after the fitting"),
    "u_bolt_batch": _("batch of the U-bolts"),
}


def gaps(batch):
    """Yield (cart, what is not recorded, the entry it is of) for the lifts now on carts."""
    on = [
        (cart, chapter.fitting_id)
        for cart in batch.carts
        if is_in_fleet(cart)
        for chapter in cart.facts.chapters
        if chapter.until_at is None
    ]
    fittings = Fitting.objects.in_bulk([key for _cart, key in on])
    for cart, key in on:
        fitting = fittings[key]
        if fitting.paperwork != Fitting.Paperwork.FULL:
            yield cart, _("full papers of the fitting"), key
        for name, lacks in OF_FITTING.items():
            if getattr(fitting, name) in ("", None):
                yield cart, lacks, key
        if fitting.u_bolts_new is False:
            yield cart, _("new U-bolts: old ones were used again"), key
        yield from _label_gaps(cart, key)


def _label_gaps(cart, fitting_id):
    parts = (fact for pairs in cart.facts.parts.values() for fact, _outcome in pairs)
    looks = [fact for fact in parts if isinstance(fact, LabelCheck)]
    if not looks:
        yield cart, _("any look at the warning label"), fitting_id
        return
    last = max(looks, key=lambda fact: (fact.done_at, fact.pk))
    if is_too_small(last):
        yield cart, _("letters of the warning label tall enough for where it is read"), last.pk
