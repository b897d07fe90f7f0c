"""The checkpoint of each day, and the sites whose journal is older than what was signed."""

import logging
from datetime import timedelta

from django.core.cache import cache

from shared import outside
from shared.clock import moment_of
from shared.models import Checkpoint, JournalHead
from shared.outside import BehindOutside, OutsideSpoilt
from shared.sealing import SEAL_FAULTS, is_made, make_checkpoint

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
    return sum(_make_at(here, at) for here in days.values() if at >= here.morning_at)


def _make_at(here, at):
    site, since = here.site, begin_of(here)
    if cache.get(_key("unsigned", site)) or not _is_wanted(site, since):
        return 0
    try:
        made = make_checkpoint(site, at=at, cause=DAILY, once_since=since)
    except SEAL_FAULTS as error:
        cache.set(_key("unsigned", site), True, TRIED_AGAIN_AFTER.total_seconds())
        _log_once(site, error)
        return 0
    except Exception:  # one site's journal never keeps the others waiting
        log.exception("no checkpoint is made for the site %s", site.slug)
        return 0
    return int(made is not None)


def begin_of(here):
    """Return when a site's day began."""
    return moment_of(here.today, 0, here.site.zone)


def _is_wanted(site, since):
    has_entries = JournalHead.objects.filter(pk=site.pk, size__gt=0).exists()
    return has_entries and not is_made(site, DAILY, since=since)


def _log_once(site, error):
    key = _key(type(error).__name__, site)
    if cache.add(key, True, TOLD_AGAIN_AFTER.total_seconds()):
        log.error("no checkpoint is made for the site %s: %s", site.slug, error)


def _key(what, site):
    return f"checkpoint.{what}.{site.pk}"
