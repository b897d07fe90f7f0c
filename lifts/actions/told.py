"""Whether work that is told of, and nobody here saw, counts."""

from django.db import transaction

from fleet.actions import project, register
from fleet.gather import TOLD_COUNTS
from fleet.kinds import Cut
from fleet.standing import FOREVER
from lifts.models import Fitting
from lifts.source import LiftSource
from lifts.told import told_days
from shared.facts import lock_sites, strike


class NotTold(Exception):
    """Nobody told of that day, it cannot count, or it does already."""


@transaction.atomic
def count_told(cart, kind, day, *, reason, by, at):
    """Let the told day of a kind of work start its clock, as if it had been seen then.

    Raises NotTold where no lift on the cart has such a day that may yet count.
    """
    lock_sites(cart.site_id)
    for told in _told_of(cart):
        if (told.kind, told.day) == (kind, day) and not (told.counted or told.is_before_lift):
            value = {kind: day.isoformat(), "fitting": str(told.fitting_id)}
            return register.change_cart(cart, TOLD_COUNTS, value, reason=reason, by=by, at=at)
    raise NotTold(kind, day)


def _told_of(cart):
    everything = Cut(FOREVER, FOREVER)
    spans = LiftSource().chapters([cart.pk], everything)
    on = [span.fitting_id for span in spans if span.until_at is None]
    fittings = Fitting.objects.select_related("site").filter(pk__in=on)
    return [told for fitting in fittings for told in told_days(fitting, everything)]


@transaction.atomic
def strike_told(cart, change, *, reason, by, at):
    """Take back that a told day counts. Raises NotStanding when it was taken back before."""
    lock_sites(cart.site_id)
    filed = strike(change, reason=reason, by=by, at=at, site=cart.site)
    project.carts([cart.pk])
    return filed.fact
