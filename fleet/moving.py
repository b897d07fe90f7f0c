"""Carts whose meter rose although a stop limit was reached. No writes."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from fleet.calls import rises
from fleet.past_sites import sites_at


@dataclass(frozen=True)
class Moved:
    """How far a cart ran after a stop, by so many readings of which a meter had risen.

    It counts from ``before_at``, the last reading before the first that had risen.
    """

    before_at: datetime
    first_at: datetime
    last_at: datetime
    readings: int
    more_hours: Decimal
    more_metres: Decimal


def moved_after_stop(batch):
    """Yield (cart, recheck, Moved) of the carts at the site, in the order of their rechecks.

    A rise counts on a day after ``stops_on``, as the reminders have it, until the recheck
    ended: on the day itself the reading may be the one that brought the stop to light.
    """
    stops = [(cart, _stops(cart)) for cart in batch.carts if cart.is_here]
    stops = [(cart, rows) for cart, rows in stops if rows]
    ids = {fact.site_id for cart, _rows in stops for fact in cart.facts.changes}
    sites = sites_at(ids, batch.scope.cut)
    for cart, rows in stops:
        found = rises(cart.facts, sites)
        for row in rows:
            own = [one for one in found if _is_after(row, one, batch.scope)]
            if own:
                yield cart, row, _moved(own)


def _stops(cart):
    day = cart.scope.day
    return [row for row in cart.rechecks if row.stops_on is not None and row.stops_on < day]


def _moved(rises_after):
    return Moved(
        before_at=min(one.before_at for one in rises_after),
        first_at=min(one.at for one in rises_after),
        last_at=max(one.at for one in rises_after),
        readings=len({one.at for one in rises_after}),
        more_hours=_more(rises_after, "hours"),
        more_metres=_more(rises_after, "distance"),
    )


def _more(rises_after, measure):
    return sum((one.more for one in rises_after if one.measure == measure), Decimal(0))


def _is_after(row, rise, scope):
    is_over = row.ended_at is not None and rise.at > row.ended_at
    is_early = scope.since is not None and rise.at < scope.since
    return scope.day_of(rise.at) > row.stops_on and not is_over and not is_early
