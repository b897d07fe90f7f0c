"""Writes what is owed to whom, once for each person, thing and stage; mails what cannot wait."""

import logging

from django.db import transaction
from django.utils.translation import gettext as _

from fleet import emails_at_once
from fleet.actions import claims, news, notice_rows
from fleet.calls import calls_at, still_calls
from fleet.crossed import Lack
from fleet.doctor.clocks import is_believed
from fleet.models import Notice
from fleet.reminding import BEGAN_WITHIN, Stage, quiet_people
from shared.trials import kill_point

log = logging.getLogger(__name__)

# more than these for one person go as one mail
MOST_APART = 5
# each is claimed alone: a claim of thousands would outlast the worker
MOST_TOGETHER = 300


def make(days, *, at) -> int:
    """Write the notices that every site newly owes; return how many."""
    unseen = news.unseen(days, at=at)
    lacking = notice_rows.sites_lacking({pk: days[pk] for pk in unseen})
    return sum(_make_at(days, days[pk], pk in lacking, at, unseen[pk]) for pk in unseen)


def _make_at(days, here, is_lacking, at, seen):
    """Write what a site owes, and note that it was looked at, or that it is to be again."""
    try:
        lacks = [lack for call in calls_at(days, here, at) for lack in _lacks(call, here)]
        with transaction.atomic():
            kept = notice_rows.keep_crossed(here, at=at) if is_lacking else 0
            kept += notice_rows.keep(lacks, here.site, at=at)
            kill_point("before-tick-commit")
        kill_point("after-tick-commit")
    except Exception:  # one site's rows never keep the others' people waiting
        log.exception("no notices are made for the site %s", here.site.slug)
        news.note_failed(here.site.pk, seen)
        return 0
    news.note(here.site.pk, seen)
    return kept


def _lacks(call, here):
    for person_id in {row.person_id for row in here.told(call.stage)}:
        yield Lack(call.about, call.cart_id, call.stage, call.day, person_id)


def drop_old(*, at):
    """Give up on notices that no mail has carried for as long as they are owed.

    None is too old by a clock that is not to be believed.
    """
    if not is_believed(at):
        return
    old = Notice.objects.filter(made_at__lt=at - BEGAN_WITHIN)
    reason = _("too old: what stands is in the daily mail")
    claims.drop(old.filter(at_once=True), reason, is_dead=True)
    claims.drop(old, reason)


def send_at_once(days, post, *, at):
    """Mail the notices that cannot wait for the morning; see claims.send_each on crashes.

    Those of a site that is not among ``days`` wait, and those to people in their quiet hours.
    """

    def act(held, post, *, at):
        return _send(held, days, post, at)

    def together(notice):
        return _others(notice, days, at)

    rows = Notice.objects.filter(at_once=True, site_id__in=days)
    people = set(claims.waiting(rows, at).values_list("person_id", flat=True))
    awake = rows.exclude(person_id__in=quiet_people(days, people, at) if people else [])
    return claims.send_each(awake, act, post, at=at, together=together)


def _others(notice, days, at):
    """Return what goes in one mail with a notice: all that waits if it is much.

    What those above are told of always goes together.
    """
    waiting = claims.like(notice, at).filter(at_once=True, site_id__in=days)
    found = waiting.filter(person=notice.person_id).exclude(pk=notice.pk)
    stages = dict(found.values_list("pk", "stage")[: MOST_TOGETHER - 1])
    if len(stages) + 1 > MOST_APART:
        return list(stages)
    if notice.stage == Stage.ABOVE:
        return [pk for pk, stage in stages.items() if stage == Stage.ABOVE]
    return []


def _send(held, days, post, at):
    """Mail some notices to their person, of which the person is still told and that are so."""
    # a later sweep may have written them: what they are about was not known before
    known_by = max(at, *(notice.made_at for notice in held))
    owed = [notice for notice in held if _still_owed(notice, days[notice.site_id], known_by)]
    if not owed:
        return "dropped"
    claims.send(owed, emails_at_once.mail_of(owed, days, known_by), post, at=at)
    claims.settle(owed, sent_at=at)
    return "sent"


def _still_owed(notice, here, at):
    """Whether a notice is to be mailed still; drop it if not."""
    row = Notice.objects.filter(pk=notice.pk)
    if all(told.person_id != notice.person_id for told in here.told(notice.stage)):
        claims.drop(row, _("the person is not told of it any more"))
        return False
    if not still_calls(notice, here, at):
        claims.drop(row, _("over before it was mailed"))
        return False
    return True
