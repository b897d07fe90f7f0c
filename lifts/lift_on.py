"""Which lift is on a cart within a cut, by two ready statements."""

from lifts.models import Fitting, Removal
from shared.standing import standing_rows

# of a fitting what a round's page rests on
LIFT = ("id", "done_at", "kit_id", "hub_bearing")
OFF = ("id", "done_at", "fitting_id")


def lift_on(cart_id, cut):
    """Return the fitting on a cart as a row of LIFT, None when it bears no lift."""
    fittings = _standing(Fitting, cart_id, cut, LIFT)
    if not fittings or _is_off(fittings[-1], _standing(Removal, cart_id, cut, OFF)):
        return None
    return fittings[-1]


def _is_off(lift, removals):
    on = (lift.done_at, lift.pk)
    return any((one.done_at, one.pk) > on or one.fitting_id == lift.pk for one in removals)


def _standing(model, cart_id, cut, columns):
    return standing_rows(model, [cart_id], cut.happened_by, cut.known_by, columns)
