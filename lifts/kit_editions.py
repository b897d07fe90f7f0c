"""The carts whose lift is on record under an earlier edition of its kit. No writes."""

from fleet.kinds import Cut
from fleet.models import Cart
from lifts.models import Fitting
from lifts.source import LiftSource

MOST_NAMED = 50


def behind_the_edition(kit, at):
    """Return carts that bear an earlier edition of the kit, in the order of their numbers.

    Of the first so many that ever did: in a large fleet the rest follow as these are told again.
    """
    earlier = Fitting.objects.filter(kit__site=kit.site_id, kit__code=kit.code).exclude(kit=kit)
    carts = Cart.objects.in_fleet().lifted().filter(site=kit.site_id)
    carts = list(carts.filter(pk__in=earlier.values("cart")).select_related("site")[:MOST_NAMED])
    on = LiftSource().chapters([cart.pk for cart in carts], Cut.known_now(at))
    lifts_on = {one.fitting_id for one in on if one.until_at is None}
    behind = set(earlier.filter(pk__in=lifts_on).values_list("cart_id", flat=True))
    return [cart for cart in carts if cart.pk in behind]
