"""The checkpoint of each day, and the sites whose journal is older than what was signed."""

import logging
from datetime import timedelta

from django.core.cache import cache

from shared import outside
from shared.clock import FOREVER
from shared.models import Checkpoint, JournalHead
from shared.outside import BehindOutside, OutsideSpoilt
from shared.sealing import SEAL_FAULTS, make_checkpoint, span_of_day

log = logging.getLogger(__name__)

DAILY = Checkpoint.Cause.DAILY
TOLD_AGAIN_AFTER = timedelta(days=1)
# a journal that cannot be signed is read whole at each try
TRIED_AGAIN_AFTER = timedelta(hours=1)


def behind(days) -> set:
    """Return the ids of the sites that must wait for a restore, and log each once a day."""
    heads = JournalHead.objects.in_bulk(list(days))
    found = set()
    for site_id, here in days.items():
        error = _why_behind(heads.get(site_id) or JournalHead(site_id=site_id))
        if error is not None:
            _log_once(here.site, error)
            found.add(site_id)
    return found


def _why_behind(head):
    try:
        statement = outside.is_behind(head)
    except OutsideSpoilt as error:
        return error
    return statement and BehindOutside(head, statement)


def make_daily(days, *, at) -> int:
    """Sign the journals whose day has no checkpoint since its morning came; return how many.

    May run twice, or many at once: the second finds the first under the journal's lock.
    """
    wanted = _wanted([here for here in days.values() if at >= here.morning_at], at)
    return sum(_make_at(here, at) for here in wanted)


def _make_at(here, at):
    site = here.site
    if cache.get(_key("unsigned", site)):
        return 0
    try:
        made = make_checkpoint(site, at=at, cause=DAILY, once_within=span_of_day(site, at))
    except SEAL_FAULTS as error:
        cache.set(_key("unsigned", site), True, TRIED_AGAIN_AFTER.total_seconds())
        _log_once(site, error)
        return 0
    except Exception:  # one site's journal never keeps the others waiting
        log.exception("no checkpoint is made for the site %s", site.slug)
        return 0
    return int(made is not None)


def _wanted(some, at):
    """Return where entries are and no checkpoint of the day is, by two queries for all sites."""
    ids = [here.site.pk for here in some]
    days = {here.site.pk: span_of_day(here.site, at) for here in some}
    has_entries = JournalHead.objects.filter(pk__in=ids, size__gt=0).values_list("pk", flat=True)
    first = min((begin for begin, _end in days.values()), default=FOREVER)
    made = Checkpoint.objects.filter(site__in=ids, cause=DAILY, made_at__gte=first)
    rows = made.values_list("site_id", "made_at")
    is_made = {pk for pk, made_at in rows if days[pk][0] <= made_at < days[pk][1]}
    wanted = set(has_entries) - is_made
    return [here for here in some if here.site.pk in wanted]


def _log_once(site, error):
    key = _key(type(error).__name__, site)
    if cache.add(key, True, TOLD_AGAIN_AFTER.total_seconds()):
        log.error("no checkpoint is made for the site %s: %s", site.slug, error)


def _key(what, site):
    return f"checkpoint.{what}.{site.pk}"
