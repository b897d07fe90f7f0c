"""The carts whose lift is on record under an earlier edition of its kit. No writes."""

from fleet.kinds import Cut
from fleet.models import Cart
from lifts.models import Fitting
from lifts.source import LiftSource

MOST_NAMED = 50
AT_ONCE = 200


def behind_the_edition(kit, at, most=MOST_NAMED):
    """Return carts that bear an earlier edition of the kit, by number, at most so many."""
    earlier = Fitting.objects.standing().filter(kit__site=kit.site_id, kit__code=kit.code)
    earlier = earlier.exclude(kit=kit)
    carts = Cart.objects.in_fleet().lifted().filter(site=kit.site_id)
    ids = list(carts.filter(pk__in=earlier.values("cart")).values_list("pk", flat=True))
    behind = []
    for start in range(0, len(ids), AT_ONCE):
        behind += _bearing(earlier, ids[start : start + AT_ONCE], at)
        if len(behind) >= most:
            break
    found = Cart.objects.select_related("site").in_bulk(behind[:most])
    return [found[pk] for pk in behind[:most]]


def _bearing(fittings, cart_ids, at):
    """Return those of the carts, in their order, that one of the fittings is on now."""
    on = LiftSource().chapters(cart_ids, Cut.known_now(at))
    lifts_on = [one.fitting_id for one in on if one.until_at is None]
    bearing = set(fittings.filter(pk__in=lifts_on).values_list("cart_id", flat=True))
    return [pk for pk in cart_ids if pk in bearing]
