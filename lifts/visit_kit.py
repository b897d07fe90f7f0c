"""Which kit is on a cart at a visit, and the joints and grease points to go round.

The edition in force then counts, whichever edition the cart was fitted with. Joints that a
cart has beside its kit's own outlast an edition and end with the lift that they were found on.
A cart without a lift has the joints of its site's newest kit that lifts nothing, if any.
"""

from django.db.models import Q

from fleet.kinds import Cut
from fleet.models import Round
from lifts.lift_on import lift_on
from lifts.models import Fitting, GreasePoint, GreaseStroke, Joint, Kit, Look

WALKING = ("place", "from_at", "id")


def fitting_on(cart, cut: Cut):
    """Return the fitting that is on the cart, None when it bears no lift."""
    lift = lift_on(cart, cut)
    return lift and Fitting.objects.select_related("kit").get(pk=lift.pk)


def kit_of(cart, cut: Cut):
    """Return the kit on the cart in the edition in force, None when it bears no lift."""
    return next(iter(_kits(lift_on(cart, cut), cut)), None)


def kit_names(site, cut: Cut) -> dict[str, str]:
    """Return {code: name} of the kits in force at a site that lift something."""
    kits = Kit.objects.in_force(cut.happened_by).filter(site=site)
    return {kit.code: kit.name for kit in kits if not kit.is_plain}


def moment_of(visit):
    """Return when the work was done that a visit tells again; of a new one its own moment."""
    if not visit.corrects:
        return visit.at
    return Round.objects.values_list("done_at", flat=True).get(pk=visit.corrects)


def cut_then(visit) -> Cut:
    """Return what had happened when the work of a visit was done, as known at its opening."""
    return Cut(visit.once(moment_of), visit.known_by)


def lift_now(visit):
    """Return the lift on the visited cart when its page was opened, None for none."""
    return lift_on(visit.cart, visit.opening)


def lift_then(visit):
    """Return the lift on the visited cart when the work was done, None for none."""
    if not visit.corrects:
        return visit.once(lift_now)
    return lift_on(visit.cart, visit.once(cut_then))


def kits_now(visit) -> list[Kit]:
    """Return the kit on the visited cart in the edition in force, empty without a lift."""
    return _kits(visit.once(lift_now), visit.opening)


def joints_at(visit):
    """Return the joints of the visited cart in walking order.

    For a round told again, those of the edition that it was done by, and those beside it
    on that round's day.
    """
    if visit.corrects:
        return _joints_again(visit)
    cart, lift = visit.cart, visit.once(lift_now)
    own = visit.once(kits_now) if lift else _plain(cart, visit.opening)
    return _walked(own, _beside(cart.pk, lift, visit.at))


def _joints_again(visit):
    looks = Look.objects.filter(fact__round=visit.corrects, joint__cart=None)
    own = _told_of(looks.values("joint__kit")) or _kits_again(visit)
    beside = _beside(visit.cart.pk, visit.once(lift_then), visit.once(moment_of))
    return _walked(own, beside)


def _kits_again(visit):
    lift = visit.once(lift_then)
    return _kits(lift, visit.once(cut_then)) if lift else _plain(visit.cart, visit.opening)


def _told_of(kits):
    """Return the editions that a round told again was done by, of its lines' kits."""
    return list(Kit.objects.filter(pk__in=kits))


def names_lugs(cart, wheel, cut: Cut):
    """Whether a list names the lugs of a wheel, so that they can be gone round."""
    lift = lift_on(cart, cut)
    kits = _kits(lift, cut) if lift else _plain(cart, cut)
    of_kit = Joint.objects.filter(kit__in=kits, cart=None)
    lugs = {"family": Joint.Family.LUGS, "wheel": wheel}
    either = (of_kit, _beside(cart.pk, lift, cut.asked_at))
    return any(joints.filter(**lugs).exists() for joints in either)


def joints_on(cart, cut: Cut):
    """Return the joints of a cart in walking order, none when it bears no lift."""
    lift = lift_on(cart, cut)
    return _walked(_kits(lift, cut), _beside(cart.pk, lift, cut.asked_at))


def joints_beside(cart, cut: Cut):
    """Return the joints that a cart has beside its kit's own, the oldest first, as a QuerySet."""
    found = _beside(cart.pk, lift_on(cart, cut), cut.asked_at)
    return found.select_related("kit").order_by("from_at", "id")


def _walked(kits, beside):
    # each by its own index: an OR of both would go through the joints of all sites
    own = Joint.objects.filter(kit__in=kits, cart=None).order_by(*WALKING)
    return in_walking_order(own, beside.order_by(*WALKING))


def _beside(cart_id, lift, moment):
    """The joints found at the lift now on the cart, from when they were taken up."""
    if lift is None:
        return Joint.objects.none()
    begun = Joint.objects.filter(cart=cart_id, from_at__lte=moment, from_at__gte=lift.done_at)
    return begun.filter(Q(until_at=None) | Q(until_at__gt=moment))


def in_walking_order(own, beside):
    """Return a kit's own joints, and after the last of a wheel those found beside it there.

    A joint that a new edition names too is the edition's.
    """
    order = list(own)
    named = {joint.name.casefold() for joint in order}
    for joint in beside:
        if joint.name.casefold() not in named:
            at_wheel = [place for place, one in enumerate(order, 1) if one.wheel == joint.wheel]
            order.insert(at_wheel[-1] if at_wheel else len(order), joint)
    return order


def grease_points_at(visit):
    """Return the grease points of the visited cart in walking order.

    For a round told again, those of the kit that it was done by.
    """
    return list(GreasePoint.objects.filter(kit__in=_kits_to_grease(visit)).order_by("place"))


def _kits_to_grease(visit):
    if not visit.corrects:
        return visit.once(kits_now)
    greased = GreaseStroke.objects.filter(fact__round=visit.corrects)
    told = _told_of(greased.values("point__kit"))
    return told or _kits(visit.once(lift_then), visit.once(cut_then))


def _kits(lift, cut):
    """Return the editions in force of the kit that was fitted: one, none without a lift."""
    if lift is None:
        return []
    fitted = Kit.objects.filter(pk=lift.kit_id)
    kits = Kit.objects.in_force(cut.happened_by).filter(site__in=fitted.values("site"))
    return list(kits.filter(code__in=fitted.values("code")))


def _plain(cart, cut):
    """Return the site's newest sheet for plain carts: one, or none."""
    sheets = Kit.objects.in_force(cut.happened_by).plain().filter(site=cart.site_id)
    return list(sheets.order_by("-from_at", "-pk")[:1])
