"""Which lift is on a cart within a cut, by two ready statements."""

from datetime import timedelta

from fleet.kinds import Cut
from fleet.tellings import all_tellings
from lifts.lift_ends import end_of, removal_acts_at
from lifts.models import Fitting, Removal
from shared.clock import earliest_of
from shared.standing import standing_rows

ARRIVED = ("done_at", "written_at", "received_at", "brought_in")
# of a fitting what a round's page rests on
LIFT = ("id", "done_at", "day_only", "corrects", "kit_id", "hub_bearing")
OFF = ("id", *ARRIVED, "fitting_id")
# more than from the start of a day to its noon
HALF_A_DAY = timedelta(hours=14)


def lift_on(cart, cut):
    """Return the fitting on a cart as a row of LIFT, None when it bears no lift.

    One of which only the day is known may have been on from the start of its day.
    """
    fittings = _begun(cart, cut)
    if not fittings or _is_off(fittings[-1], cart, cut):
        return None
    return fittings[-1]


def _begun(cart, cut):
    until_noon = Cut(cut.happened_by + HALF_A_DAY, cut.known_by)
    fittings = _standing(Fitting, cart, until_noon, LIFT)
    return [one for one in fittings if earliest(one, cart) <= cut.happened_by]


def earliest(fitting, cart):
    """Return the moment before which a lift was not on, as far as that is known."""
    return earliest_of(fitting.done_at, cart.site.zone, day_only=fitting.day_only)


def _is_off(lift, cart, cut):
    removals = _standing(Removal, cart, cut, OFF)
    if not removals:
        return False
    told = {one.pk for one in all_tellings([lift], Fitting).get(lift.pk, [lift])}
    return end_of(lift, told, removals, (), cut.happened_by) is not None


def bare_since(cart, cut):
    """Return from when a cart without a lift bears none; None when it never bore one."""
    # the last by when it was done: an earlier lift's may have been told after it
    acts = map(removal_acts_at, reversed(_standing(Removal, cart, cut, OFF)))
    return next((at for at in acts if at <= cut.happened_by), None)


def _standing(model, cart, cut, columns):
    return standing_rows(model, [cart.pk], cut.happened_by, cut.known_by, columns)
