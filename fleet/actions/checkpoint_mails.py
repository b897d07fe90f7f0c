"""Checkpoints mailed to those who keep them: managers and surveyors of the site."""

from datetime import timedelta

from django.utils.translation import gettext as _

from fleet import emails
from fleet.actions import claims
from fleet.models import CheckpointMail
from shared.models import Checkpoint

# a later checkpoint proves all that an older one of its epoch does
OWED_WITHIN = timedelta(days=2)


def plan(days, *, at) -> int:
    """Write a row for each person who is owed a checkpoint of the last days; return how many.

    Planned from the checkpoints that there are: whatever made one and died leaves its mails
    to the next sweep.
    """
    made = Checkpoint.objects.filter(site_id__in=days, made_at__gt=at - OWED_WITHIN)
    # a trial of a past moment owes nobody what was made since
    lately = list(made.filter(made_at__lte=at))
    owed = {pair for row in lately for pair in _owed(row, days[row.site_id])}
    known = CheckpointMail.objects.filter(checkpoint__in=[row.pk for row in lately])
    fresh = sorted(owed - set(known.values_list("checkpoint_id", "person_id")))
    rows = [CheckpointMail(checkpoint_id=one, person_id=person) for one, person in fresh]
    CheckpointMail.objects.bulk_create(rows, ignore_conflicts=True)
    return len(rows)


def _owed(checkpoint, here):
    day = here.site.day(checkpoint.made_at)
    return [(checkpoint.pk, row.person_id) for row in here.keepers if row.from_day <= day]


def send(days, post, *, at):
    """Mail what waits, one mail for a person and site; see claims.send_each on crashes."""
    waiting = CheckpointMail.objects.filter(claims.WAITING[CheckpointMail])
    here = waiting.filter(checkpoint__site_id__in=days).values_list("checkpoint_id", flat=True)

    def act(held, post, *, at):
        return _send(held, days[held[0].checkpoint.site_id], post, at)

    def together(mail):
        return _others(mail, at)

    rows = CheckpointMail.objects.filter(checkpoint_id__in=set(here))
    return claims.send_each(rows, act, post, at=at, together=together)


def _others(mail, at):
    """Return what else waits for the person at the site: a checker takes one site's at a time."""
    waiting = claims.like(mail, at).filter(person=mail.person_id)
    found = waiting.filter(checkpoint__site=mail.checkpoint.site_id).exclude(pk=mail.pk)
    return list(found.values_list("pk", flat=True))


def _send(held, here, post, at):
    """Mail a person's claimed rows together, if they keep checkpoints of the site still."""
    if all(row.person_id != held[0].person_id for row in here.keepers):
        reason = _("the person has no such role any more")
        claims.drop(CheckpointMail.objects.filter(pk__in=[row.pk for row in held]), reason)
        return "dropped"
    claims.send(held, emails.checkpoints(here.site, held), post, at=at)
    claims.settle(held, sent_at=at)
    return "sent"
