"""Which lift is on a cart within a cut, by two ready statements."""

from fleet.tellings import all_tellings
from lifts.models import Fitting, Removal
from shared.standing import standing_rows

# of a fitting what a round's page rests on
LIFT = ("id", "done_at", "corrects", "kit_id", "hub_bearing")
OFF = ("done_at", "fitting_id")


def lift_on(cart_id, cut):
    """Return the fitting on a cart as a row of LIFT, None when it bears no lift."""
    fittings = _standing(Fitting, cart_id, cut, LIFT)
    if not fittings or _is_off(fittings[-1], _standing(Removal, cart_id, cut, OFF)):
        return None
    return fittings[-1]


def _is_off(lift, removals):
    """Whether a removal came after the lift was fitted, or names it in any of its tellings."""
    if any(one.done_at > lift.done_at for one in removals):
        return True
    named = {one.fitting_id for one in removals}
    told = all_tellings([lift], Fitting).get(lift.pk, [lift]) if named else []
    return any(one.pk in named for one in told)


def _standing(model, cart_id, cut, columns):
    return standing_rows(model, [cart_id], cut.happened_by, cut.known_by, columns)
