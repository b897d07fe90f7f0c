"""Sites as their own changes had them within a cut, and the zone of a past local time."""

from copy import copy
from datetime import date
from itertools import pairwise

from shared.dates import is_skipped, moment_of_local
from shared.models import Change, Site

SITE = "site"
# an address, not something that is told of the site
NOT_OF_THE_PAST = {"slug"}


def sites_at(site_ids, cut) -> dict:
    """Return {id: unsaved Site} as of a cut: what the last change within it says.

    Before the first change, what that one says; without any, the row as it is.
    """
    told = {}
    for change in _changes(site_ids, cut.known_by):
        is_in = change.done_at <= cut.happened_by and change.received_at <= cut.known_by
        if is_in or change.site_id not in told:
            told[change.site_id] = change.value
    rows = Site.objects.in_bulk(list(site_ids))
    return {site_id: _with(row, told.get(site_id, {})) for site_id, row in rows.items()}


def site_at(site, cut) -> Site:
    return sites_at([site.pk], cut)[site.pk]


def _changes(site_ids, known_by):
    changes = Change.objects.filter(site_id__in=list(site_ids), what=SITE)
    return changes.standing(known_by).order_by("done_at", "id")


def _with(row, value):
    site = copy(row)
    for name, said in value.items():
        if name not in NOT_OF_THE_PAST:
            setattr(site, name, said)
    if value.get("start_day"):
        site.start_day = date.fromisoformat(value["start_day"])
    return site


def zone_of(site, local) -> str:
    """Return the zone by which the site's clocks showed a local time that is past.

    The first zone of which the time lies before the next change: later ones alter nothing.
    """
    zones = [
        (change.done_at, change.value["zone"])
        for change in Change.objects.filter(site=site, what=SITE).order_by("done_at", "id")
    ]
    for (_since, zone), (until, _next) in pairwise(zones):
        if not is_skipped(local, zone) and moment_of_local(local, zone) < until:
            return zone
    return zones[-1][1] if zones else site.zone
