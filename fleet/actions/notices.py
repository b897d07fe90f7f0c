"""Writes what is owed to whom, once for each person, thing and stage; mails what cannot wait."""

import logging

from django.db.models import Q
from django.utils.translation import gettext as _

from fleet import emails
from fleet.actions import claims
from fleet.calls import calls_at, still_calls
from fleet.due import state_on
from fleet.models import Notice
from fleet.reminding import BEGAN_WITHIN, Stage, rechecks_at

log = logging.getLogger(__name__)

BATCH_ROWS = 500
STAGE_OF_DATE = {
    "stops_on": Stage.STOPPED,
    "late_on": Stage.LATE,
    "due_on": Stage.DUE,
    "opens_on": Stage.OPEN,
}
DATE_OF_STAGE = {stage: name for name, stage in STAGE_OF_DATE.items()}


def make(days, *, at) -> int:
    """Write the notices that every site newly owes; return how many."""
    return sum(_make_at(days, here, at) for here in days.values())


def _make_at(days, here, at):
    try:
        fresh = _not_made_yet([*_crossed(here, at), *_called(days, here, at)])
        Notice.objects.bulk_create(fresh, ignore_conflicts=True, batch_size=BATCH_ROWS)
    except Exception:  # one site's rows never keep the others' people waiting
        log.exception("no notices are made for the site %s", here.site.slug)
        return 0
    return len(fresh)


def _crossed(here, at):
    """Yield a notice for the stage that each recheck stands in, if that began lately."""
    after = here.today - BEGAN_WITHIN
    lately = Q()
    for name in STAGE_OF_DATE:
        lately |= Q(**{f"{name}__gt": after, f"{name}__lte": here.today})
    for recheck in rechecks_at(here.site).filter(lately).order_by("id"):
        stage = Stage(state_on(recheck, here.today))
        day = getattr(recheck, DATE_OF_STAGE[stage])
        if day > after:
            yield from _owed(here, stage, recheck.cart_id, recheck.pk, day, at)


def _called(days, here, at):
    for call in calls_at(days, here, at):
        yield from _owed(here, call.stage, call.cart_id, call.about, call.day, at, at_once=True)


def _owed(here, stage, cart_id, about, day, at, at_once=False):
    for membership in here.told(stage):
        yield Notice(
            site=here.site,
            person_id=membership.person_id,
            cart_id=cart_id,
            about=about,
            stage=stage,
            day=day,
            made_at=at,
            at_once=at_once,
        )


def _not_made_yet(wanted):
    """Return the notices with no row yet, in one order so that workers cannot deadlock."""
    by_key = {_key(notice): notice for notice in wanted}
    people = {notice.person_id for notice in wanted}
    about = sorted({notice.about for notice in wanted})
    for start in range(0, len(about), BATCH_ROWS):
        made = Notice.objects.filter(
            person_id__in=people, about__in=about[start : start + BATCH_ROWS]
        )
        for notice in made.only("person", "about", "stage"):
            by_key.pop(_key(notice), None)
    return [by_key[key] for key in sorted(by_key)]


def _key(notice):
    return notice.person_id, notice.about, str(notice.stage)


def drop_old(*, at):
    """Give up on notices that no mail has carried for as long as they are owed."""
    waiting = Notice.objects.filter(claims.WAITING[Notice], made_at__lt=at - BEGAN_WITHIN)
    waiting.update(dropped=_("too old: what stands is in the daily mail"))


def send_at_once(days, post, *, at):
    """Mail the notices that cannot wait for the morning; see claims.send_each on crashes."""

    def act(notice, post, *, at):
        return _send(notice, days, post, at)

    return claims.send_each(Notice.objects.filter(at_once=True), act, post, at=at)


def _send(notice, days, post, at):
    """Mail one notice, if its person is still told and it is still so."""
    here = days.get(notice.site_id)
    told = here and any(row.person_id == notice.person_id for row in here.told(notice.stage))
    if not told:
        claims.settle(notice, dropped=_("the person has no such role any more"))
        return "dropped"
    if not still_calls(notice, here, at):
        claims.settle(notice, dropped=_("over before it was mailed"))
        return "dropped"
    post.send(emails.at_once(notice, here, at))
    claims.settle(notice, sent_at=at)
    return "sent"
