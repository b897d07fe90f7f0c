"""Which kit is on a cart at a visit, and the joints and grease points to go round.

The edition in force then counts, whichever edition the cart was fitted with. Joints that a
cart has beside its kit's own outlast an edition and end with the lift that they were found on.
A cart without a lift has the joints of its site's newest kit that lifts nothing, if any.
"""

from django.db.models import Exists, OuterRef, Q

from fleet.fitted import bore_lift
from fleet.kinds import Cut
from fleet.models import Round
from lifts.models import Fitting, GreasePoint, GreaseStroke, Joint, Kit, Look, Removal


def fitting_on(cart, cut: Cut):
    """Return the fitting that is on the cart, None when it bears no lift."""
    return fittings_on(cart.pk, cut).select_related("kit").first()


def kit_of(cart, cut: Cut):
    """Return the kit on the cart in the edition in force, None when it bears no lift."""
    return _kits(cart.pk, cut).first()


def kit_names(site, cut: Cut) -> dict[str, str]:
    """Return {code: name} of the kits in force at a site that lift something."""
    kits = Kit.objects.in_force(cut.happened_by).filter(site=site)
    return {kit.code: kit.name for kit in kits if not kit.is_plain}


def joints_at(visit):
    """Return the joints of the visited cart in walking order, with one query.

    For a round told again, those of the edition that it was done by, and those beside it
    on that round's day.
    """
    if visit.corrects:
        return _joints_again(visit)
    cart, cut = visit.cart, visit.opening
    own = Q(kit__in=_kits(cart.pk, cut)) | Q(kit__in=_sheets(cart, cut))
    return _walked(own, _beside(cart.pk, cut, visit.at))


def _joints_again(visit):
    cart, cut = visit.cart, Cut(moment_of(visit), visit.known_by)
    is_lifted = bore_lift(cart, cut.happened_by)
    kits = _kits(cart.pk, cut) if is_lifted else _plain(cart, visit.opening)
    looks = Look.objects.filter(fact__round=visit.corrects, joint__cart=None)
    own = Q(kit__in=_told_of(looks.values("joint__kit")) or kits)
    return _walked(own, _beside(cart.pk, cut, cut.happened_by))


def moment_of(visit):
    """Return when the work was done that a visit tells again; of a new one its own moment."""
    if not visit.corrects:
        return visit.at
    return Round.objects.values_list("done_at", flat=True).get(pk=visit.corrects)


def _told_of(kits):
    """Return the editions that a round told again was done by, of its lines' kits."""
    return list(Kit.objects.filter(pk__in=kits))


def names_lugs(cart, wheel, cut: Cut):
    """Whether a list names the lugs of a wheel, so that they can be gone round."""
    kits = Q(kit__in=_kits(cart.pk, cut)) | Q(kit__in=_sheets(cart, cut))
    lugs = Joint.objects.filter(family=Joint.Family.LUGS, wheel=wheel)
    return lugs.filter(Q(cart=None) & kits | _beside(cart.pk, cut, cut.asked_at)).exists()


def joints_on(cart, cut: Cut):
    """Return the joints of a cart in walking order, none when it bears no lift; one query."""
    return _walked(Q(kit__in=_kits(cart.pk, cut)), _beside(cart.pk, cut, cut.asked_at))


def joints_beside(cart, cut: Cut):
    """Return the joints that a cart has beside its kit's own, the oldest first, as a QuerySet."""
    found = Joint.objects.filter(_beside(cart.pk, cut, cut.asked_at))
    return found.select_related("kit").order_by("from_at", "id")


def _walked(of_kit, beside):
    # each by its own index: an OR of both would go through the joints of all sites
    own = Joint.objects.filter(of_kit, cart=None).order_by()
    both = own.values("pk").union(Joint.objects.filter(beside).order_by().values("pk"))
    found = list(Joint.objects.filter(pk__in=both).order_by("place", "from_at", "id"))
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
    """Return the grease points of the visited cart in walking order.

    For a round told again, those of the kit that it was done by.
    """
    kits = _kits(visit.cart.pk, Cut(moment_of(visit), visit.known_by))
    if visit.corrects:
        greased = GreaseStroke.objects.filter(fact__round=visit.corrects)
        kits = _told_of(greased.values("point__kit")) or kits
    return list(GreasePoint.objects.filter(kit__in=kits).order_by("place"))


def _kits(cart_id, cut):
    borne = fittings_on(cart_id, cut)
    on = borne.filter(kit__site=OuterRef("site"), kit__code=OuterRef("code"))
    # the site is named apart, else each kit of all sites is asked
    kits = Kit.objects.in_force(cut.happened_by).filter(site__in=borne.values("kit__site"))
    return kits.filter(Exists(on))


def _sheets(cart, cut):
    """The sheet for plain carts, as long as the cart is one."""
    return _plain(cart, cut).filter(~Exists(fittings_on(cart.pk, cut)))


def _plain(cart, cut):
    sheets = Kit.objects.in_force(cut.happened_by).plain().filter(site=cart.site_id)
    later = Q(from_at__gt=OuterRef("from_at"))
    same_time = Q(from_at=OuterRef("from_at"), pk__gt=OuterRef("pk"))
    return sheets.filter(~Exists(sheets.filter(later | same_time)))


def fittings_on(cart_id, cut):
    """Return the fitting on a cart as a QuerySet, empty when it bears no lift."""
    fittings = _standing(Fitting, cart_id, cut)
    later = Q(done_at__gt=OuterRef("done_at"))
    same_time = Q(done_at=OuterRef("done_at"), id__gt=OuterRef("id"))
    removals = removals_of(cart_id, cut).filter(later | Q(fitting=OuterRef("id")))
    return fittings.filter(~Exists(fittings.filter(later | same_time)), ~Exists(removals))


def removals_of(cart_id, cut):
    return _standing(Removal, cart_id, cut)


def _standing(model, cart_id, cut):
    facts = model.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    return facts.filter(cart_id=cart_id)
