"""What a cart's stop run is held against: its own before its lift, else plain carts' runs.

Share of standard gravity. Both are runs of a time when the cart bore no lift.
"""

from decimal import Decimal
from statistics import median
from typing import NamedTuple

from django.db.models import Exists, OuterRef
from django.utils.translation import gettext, ngettext

from lifts.models import BrakeCheck, Fitting
from lifts.stopping import braking_share
from shared.dates import shown_day

PLACES = Decimal("0.0001")
RUN = ("marked_m", "time_1_s", "stop_1_m", "time_2_s", "stop_2_m")


class Reference(NamedTuple):
    """The braking to hold a run against, with the words that say whose it is."""

    braking_g: Decimal | None = None
    said: str = ""


def run_shares(run):
    """Return the braking of a check's two stop runs, each as a share of standard gravity."""
    pairs = ((run.time_1_s, run.stop_1_m), (run.time_2_s, run.stop_2_m))
    return [braking_share(run.marked_m, time_s, stop_m) for time_s, stop_m in pairs]


def mean_share(run):
    """Return the mean braking of a check's two stop runs, to four places."""
    first, second = run_shares(run)
    return ((first + second) / 2).quantize(PLACES)


def reference_for(visit, done_at) -> Reference:
    """Return what stop runs of that time at the visited cart are held against, with one query."""
    runs = _plain_runs(visit, done_at).order_by("done_at", "pk")
    latest = {run.cart_id: run for run in runs}
    own = latest.get(visit.cart.pk)
    if own is not None:
        day = shown_day(visit.site.day(own.done_at), visit.site.date_order)
        said = gettext("its own before the lift, %(day)s") % {"day": day}
        return Reference(mean_share(own), said)
    if not latest:
        return Reference()
    braking = median(mean_share(run) for run in latest.values()).quantize(PLACES)
    said = ngettext(
        "the run of %(n)s plain cart of the site",
        "the median of %(n)s plain carts of the site",
        len(latest),
    )
    return Reference(braking, said % {"n": len(latest)})


def _plain_runs(visit, done_at):
    """Return the site's stop runs up to then, at carts that had borne no lift before theirs."""
    known_by = visit.known_by
    fitted = Fitting.objects.standing(known_by).filter(cart=OuterRef("cart"))
    whole = {f"{name}__isnull": False for name in RUN}
    runs = BrakeCheck.objects.known(done_at, known_by).standing(known_by)
    runs = runs.filter(site=visit.site, **whole).exclude(round=visit.corrects)
    return runs.filter(~Exists(fitted.filter(done_at__lte=OuterRef("done_at"))))
