"""Claim, act, settle: a row that waits to be mailed is taken by one worker at a time."""

import logging
from collections import Counter
from datetime import timedelta

from django.db.models import F, Q
from django.utils.translation import gettext as _

from fleet.models import CheckpointMail, Digest, Notice
from fleet.post import Unreachable

log = logging.getLogger(__name__)

CLAIM_LAPSES = timedelta(minutes=10)
MOST_ATTEMPTS = 8
REASON_CHARS = 120
WAITING = {
    Notice: Q(sent_at=None, dropped=""),
    Digest: Q(sent_at=None, dropped="", empty=False),
    CheckpointMail: Q(sent_at=None, dropped=""),
}


def send_each(rows, act, post, *, at) -> Counter:
    """Let ``act(row, post, at=at)`` mail each waiting row; return how many ended how.

    Each row is tried alone: one that fails waits until its claim lapses, and is dropped
    after MOST_ATTEMPTS. When the mail server is not to be reached nothing counts as a try.
    A worker that dies leaves its claim to lapse; one that dies between mailing and
    settling has the mail sent twice, under one Message-ID, rather than never.
    """
    _drop_worn_out(rows, at)
    ended = Counter()
    for pk in rows.filter(WAITING[rows.model], _free(at)).values_list("pk", flat=True):
        if not post.has_time():
            break
        row = claim(rows.model, pk, at=at)
        if row is None:
            continue
        try:
            ended[act(row, post, at=at)] += 1
        except Unreachable as trouble:
            log.warning("no mail goes out: %s", trouble)
            give_back(row)
            break
        except Exception as error:  # whatever one row does, the others go out
            log.exception("%s %s could not be mailed", row._meta.verbose_name, row.pk)
            ended[fail(row, error)] += 1
    return ended


def claim(model, pk, *, at):
    """Take one waiting row for this worker; None if another holds it.

    Filters on the row's own columns alone: PostgreSQL asks those again after waiting.
    """
    waiting = model.objects.filter(WAITING[model], _free(at), pk=pk)
    if not waiting.update(claimed_at=at, attempts=F("attempts") + 1):
        return None
    return model.objects.get(pk=pk)


def settle(row, **ending):
    """Write how a claimed row ended, unless it has ended already."""
    type(row).objects.filter(WAITING[type(row)], pk=row.pk).update(**ending)


def drop(rows, reason):
    """Give up those of the rows that wait still, and say why."""
    rows.filter(WAITING[rows.model]).update(dropped=reason[:REASON_CHARS])


def _free(at):
    return Q(claimed_at=None) | Q(claimed_at__lt=at - CLAIM_LAPSES)


def _held(row):
    return type(row).objects.filter(
        WAITING[type(row)], pk=row.pk, claimed_at=row.claimed_at, attempts=row.attempts
    )


def give_back(row):
    """Let go of a claimed row, as if it had not been tried."""
    _held(row).update(claimed_at=None, attempts=F("attempts") - 1)


def fail(row, error):
    """Let a row that could not be mailed wait for its claim to lapse, or drop it in the end."""
    if row.attempts < MOST_ATTEMPTS:
        return "failed"
    drop(_held(row), f"{type(error).__name__}: {error}")
    return "dropped"


def _drop_worn_out(rows, at):
    """Drop rows whose last try ended with its worker."""
    worn_out = rows.filter(_free(at), attempts__gte=MOST_ATTEMPTS)
    drop(worn_out, _("the worker ended at each of %(tries)s tries") % {"tries": MOST_ATTEMPTS})
