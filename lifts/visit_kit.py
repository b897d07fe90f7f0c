"""Which kit is on a cart at a visit, and the joints and grease points to go round.

The edition in force then counts, whichever edition the cart was fitted with. Joints that a
cart has beside its kit's own outlast an edition and end with the lift that they were found on.
"""

from django.db.models import Exists, OuterRef, Q

from fleet.kinds import Cut
from fleet.models import Round
from lifts.models import Fitting, GreasePoint, Joint, Kit, Removal


def fitting_on(cart, cut: Cut):
    """Return the fitting that is on the cart, None when it bears no lift."""
    return fittings_on(cart.pk, cut).select_related("kit").first()


def kit_of(cart, cut: Cut):
    """Return the kit on the cart in the edition in force, None when it bears no lift."""
    return _kits(cart.pk, cut).first()


def joints_at(visit):
    """Return the joints of the visited cart in walking order, with one query.

    For a round told again, the joints beside the kit's own are those of its day.
    """
    moment = visit.at
    if visit.corrects:
        moment = Round.objects.filter(pk=visit.corrects).values("done_at")
    beside = _beside(visit.cart.pk, Cut(visit.at, visit.at), moment)
    return _walked(_kits_at(visit), beside)


def joints_on(cart, cut: Cut):
    """Return the joints of a cart in walking order, none when it bears no lift; one query."""
    return _walked(_kits(cart.pk, cut), _beside(cart.pk, cut, cut.known_by))


def joints_beside(cart, cut: Cut):
    """Return the joints that a cart has beside its kit's own, the oldest first, as a QuerySet."""
    found = Joint.objects.filter(_beside(cart.pk, cut, cut.known_by))
    return found.select_related("kit").order_by("from_at", "id")


def _walked(kits, beside):
    found = Joint.objects.filter(Q(cart=None, kit__in=kits) | beside)
    found = list(found.order_by("place", "from_at", "id"))
    own = [joint for joint in found if joint.cart_id is None]
    return in_walking_order(own, [joint for joint in found if joint.cart_id])


def _beside(cart_id, cut, moment):
    """The joints found at the lift now on the cart, from when they were taken up."""
    lift = fittings_on(cart_id, cut).filter(done_at__lte=OuterRef("from_at"))
    begun = Q(cart=cart_id, from_at__lte=moment) & Q(Exists(lift))
    return begun & (Q(until_at=None) | Q(until_at__gt=moment))


def in_walking_order(own, beside):
    """Return a kit's own joints, and after the last of a wheel those found beside it there.

    A joint that a new edition names too is the edition's.
    """
    order = list(own)
    named = {joint.name.casefold() for joint in own}
    for joint in beside:
        if joint.name.casefold() not in named:
            at_wheel = [place for place, one in enumerate(order, 1) if one.wheel == joint.wheel]
            order.insert(at_wheel[-1] if at_wheel else len(order), joint)
    return order


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
