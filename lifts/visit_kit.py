"""Which kit is on a cart at a visit, and the joints and grease points to go round.

The edition in force then counts, whichever edition the cart was fitted with.
"""

from django.db.models import Exists, OuterRef, Q

from fleet.kinds import Cut
from lifts.models import Fitting, GreasePoint, Joint, Kit, Removal


def fitting_on(cart, cut: Cut):
    """Return the fitting that is on the cart, None when it bears no lift."""
    return fittings_on(cart.pk, cut).select_related("kit").first()


def kit_of(cart, cut: Cut):
    """Return the kit on the cart in the edition in force, None when it bears no lift."""
    return _kits(cart.pk, cut).first()


def joints_at(visit):
    """Return the joints of the visited cart in walking order, with one query."""
    return list(_joints_of_kit(visit).order_by("place"))


def _joints_of_kit(visit):
    return Joint.objects.on_sheet().filter(kit__in=_kits_at(visit))


def grease_points_at(visit):
    """Return the grease points of the visited cart in walking order, with one query."""
    return list(GreasePoint.objects.filter(kit__in=_kits_at(visit)).order_by("place"))


def _kits_at(visit):
    return _kits(visit.cart.pk, Cut(visit.at, visit.at))


def _kits(cart_id, cut):
    on = fittings_on(cart_id, cut).filter(kit__site=OuterRef("site"), kit__code=OuterRef("code"))
    return Kit.objects.in_force(cut.happened_by).filter(Exists(on))


def fittings_on(cart_id, cut):
    """Return the fitting on a cart as a QuerySet, empty when it bears no lift."""
    fittings = _standing(Fitting, cart_id, cut)
    later = Q(done_at__gt=OuterRef("done_at"))
    same_time = Q(done_at=OuterRef("done_at"), id__gt=OuterRef("id"))
    removals = _standing(Removal, cart_id, cut).filter(later | Q(fitting=OuterRef("id")))
    return fittings.filter(~Exists(fittings.filter(later | same_time)), ~Exists(removals))


def _standing(model, cart_id, cut):
    facts = model.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    return facts.filter(cart_id=cart_id)
