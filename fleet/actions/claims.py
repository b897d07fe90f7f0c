"""Claim, act, settle: a row that waits to be mailed is taken by one worker at a time."""

import logging
from collections import Counter, defaultdict
from contextlib import ExitStack, closing
from datetime import timedelta

from django.db import transaction
from django.db.models import Case, F, Q, When
from django.utils.translation import gettext as _

from fleet.actions import quick_claims
from fleet.mail_faults import WAITS, Fault, Refusal, said_by, tries_within, wait_after
from fleet.models import CheckpointMail, Digest, Notice
from fleet.post import NotTaken, NotWanted, Unreachable
from fleet.reminding import BEGAN_WITHIN
from shared.alone import alone_with, alone_with_each
from shared.away import is_away
from shared.trials import kill_point

log = logging.getLogger(__name__)

# far more than the longest hold of a mail
CLAIM_LAPSES = timedelta(minutes=10)
MOST_TRIES = tries_within(BEGAN_WITHIN)
# tries that failed of ourselves, not of the server
MOST_OWN_FAULTS = 8
MOST_DEATHS = 3
# while other mails end their workers too, which tells of the machine
MOST_DEATHS_OF_MANY = 6
REASON_CHARS = 120
# rows that this process held when the database went away
lost: list[list] = []
WAITING = {
    Notice: Q(sent_at=None, dropped=""),
    Digest: Q(sent_at=None, dropped="", empty=False),
    CheckpointMail: Q(sent_at=None, dropped=""),
}


def send_each(rows, act, post, *, at, together=None) -> Counter:
    """Let ``act(held, post, at=at)`` mail each waiting row; return how many mails ended how.

    Each row is tried alone, the freshest first, so that one that fails keeps no other waiting;
    ``together(row)`` names rows that go in one mail with it. When the mail server is not to be
    reached nothing counts as a try. A worker that dies before the text of a mail is on its way
    leaves its claim to lapse; one that dies afterwards has the mail sent again, under one
    Message-ID and counted as doubtful, rather than never. A worker that loses the database
    lives on, and lets go of its rows once it is there again: that is no death of theirs.
    """
    _let_go_of_lost()
    _count_deaths(rows, at)
    ended = Counter()
    taken = _apart(rows, at) if together is None else _together(rows, together, at)
    # closed before its end it lets go of its locks
    with closing(taken):
        while post.has_time() and (held := next(taken, None)):
            if how := _try(held, act, post, at):
                ended[how] += 1
    return ended


def _apart(rows, at):
    """Yield each row that waits, claimed, in a list of its own."""
    found = list(waiting(rows, at))
    yield from ([row] for row in quick_claims.taken(found, at, CLAIM_LAPSES))


def _together(rows, together, at):
    """Yield each row that waits with those that go in one mail with it, all claimed."""
    for pk in list(waiting(rows, at).values_list("pk", flat=True)):
        with ExitStack() as locks:
            if held := _take(locks, rows.model, pk, together, at):
                yield held


def waiting(rows, at):
    """Return those of the rows that a worker may try now, in the order of their tries."""
    found = rows.filter(WAITING[rows.model], free(at))
    return found.order_by("attempts", *rows.model._meta.ordering)


def _take(locks, model, first, together, at):
    """Return the claimed row with those that go with it; nothing when another worker has it."""
    row = model.objects.filter(pk=first).first()
    held = []
    for pk in [first, *(together(row) if row else [])]:
        is_mine = locks.enter_context(alone_with(quick_claims.lock_of(model, pk)))
        claimed = claim(model, pk, at=at) if is_mine else None
        if claimed is None and not held:
            return []
        held += [claimed] if claimed else []
    return held


def _try(held, act, post, at):
    try:
        return _tried(held, act, post, at)
    except Exception as error:
        if is_away(error):
            lost.append(held)
        raise


def _let_go_of_lost():
    """Let rows wait whose end this process could not write; if the text went out, it is doubted."""
    while lost:
        _still(lost[-1]).update(claimed_at=None)
        lost.pop()


def _tried(held, act, post, at):
    """Return how the mail of some rows ended, None when it was not tried."""
    kill_point("after-claim")
    try:
        how = act(held, post, at=at)
    except NotWanted as trouble:
        # of several rows some may be held still
        give_back(held, str(trouble))
        return None
    except Unreachable as trouble:
        log.warning("no mail goes out: %s", trouble)
        give_back(held, str(trouble))
        return None
    except NotTaken as trouble:
        log.warning("%s %s not taken: %s", held[0]._meta.verbose_name, held[0].pk, trouble)
        return fail(held, trouble.refusal, at=at)
    except Exception as error:  # whatever one row does, the others go out
        if is_away(error):
            raise
        log.exception("%s %s could not be mailed", held[0]._meta.verbose_name, held[0].pk)
        fault = Fault.DOUBT if held[0].attempts < MOST_OWN_FAULTS else Fault.NEVER
        ended = fail(held, Refusal(fault, said_by(error)), at=at)
        _part(held)
        return ended
    kill_point("after-settle")
    return how


def free(at):
    """Rows that no worker holds and whose next try has come.

    A time that lies further ahead than any is set was written before the clock was set back.
    """
    unclaimed = Q(claimed_at=None) | Q(claimed_at__lt=at - CLAIM_LAPSES)
    unclaimed |= Q(claimed_at__gt=at + CLAIM_LAPSES)
    is_time = Q(next_try_at=None) | Q(next_try_at__lte=at) | Q(next_try_at__gt=at + WAITS[-1])
    return unclaimed & is_time


def claim(model, pk, *, at):
    """Take one waiting row for this worker; None if another holds it.

    Filters on the row's own columns alone: PostgreSQL asks those again after waiting. A row
    that still has a claim was held by a worker that ended; one that has ``sending_at`` may
    have been sent.
    """
    waiting = model.objects.filter(WAITING[model], free(at), pk=pk)
    taken = waiting.update(
        claimed_at=at,
        attempts=F("attempts") + 1,
        deaths=F("deaths") + Case(When(claimed_at=None, then=0), default=1),
        doubtful=F("doubtful") + Case(When(sending_at=None, then=0), default=1),
        sending_at=None,
    )
    return model.objects.get(pk=pk) if taken else None


def like(row, at):
    """Return the free rows in the same state as one: not tried, or tried in one mail with it.

    So that what may have been sent together goes together again, under one Message-ID.
    """
    state = {name: getattr(row, name) for name in ("claimed_at", "next_try_at", "sending_at")}
    return type(row).objects.filter(WAITING[type(row)], free(at), **state)


def send(held, message, post, *, at):
    """Hand the mail of some rows over, and write just before its text goes out that it does."""
    post.send(message, tries=held[0].attempts, before_data=lambda: _begin_text(held, at))


def _begin_text(held, at):
    """Write that the text goes out with all of the rows, or with none."""
    if not (_begin_one if len(held) == 1 else _begin_all)(held, at):
        raise NotWanted(f"{held[0]._meta.verbose_name} {held[0].pk} is another worker's")


def _begin_one(held, at):
    # one statement about one row needs no transaction to be whole
    return quick_claims.begin_text(held[0], at)


def _begin_all(held, at):
    with transaction.atomic():
        are_mine = _still(held).update(sending_at=at) == len(held)
        transaction.set_rollback(not are_mine)
    return are_mine


def settle(held, **ending) -> bool:
    """Write how claimed rows ended; whether they were held still."""
    return _still(held).update(**ending) == len(held)


def drop(rows, reason, *, is_dead=False):
    """Give up those of the rows that wait still, and say why."""
    rows.filter(WAITING[rows.model]).update(dropped=reason[:REASON_CHARS], is_dead=is_dead)


def _still(held):
    alike = defaultdict(list)
    for row in held:
        alike[row.claimed_at, row.attempts].append(row.pk)
    mine = Q()
    # a term for each row would be more than SQLite takes
    for (claimed_at, attempts), pks in alike.items():
        mine |= Q(pk__in=pks, claimed_at=claimed_at, attempts=attempts)
    model = type(held[0])
    return model.objects.filter(WAITING[model], mine)


def give_back(held, why):
    """Let go of claimed rows, as if they had not been tried."""
    attempts = F("attempts") - 1
    _still(held).update(claimed_at=None, sending_at=None, attempts=attempts, last_fault=why)


def fail(held, refusal, *, at):
    """Let rows that were not taken wait for their next try, or call them dead."""
    attempts = held[0].attempts
    if refusal.fault is Fault.NEVER or attempts >= MOST_TRIES:
        _still(held).update(last_fault=refusal.words)
        drop(_still(held), refusal.words, is_dead=True)
        return "dead"
    after = {"claimed_at": None, "next_try_at": at + wait_after(attempts), "deaths": 0}
    if refusal.fault is not Fault.DOUBT:
        after["sending_at"] = None
    _still(held).update(**after, last_fault=refusal.words)
    return "failed"


def _part(held):
    """Have rows that spoilt their common mail before its text tried again one by one.

    What waits for unlike moments goes in no mail together.
    """
    for apart, row in enumerate(held):
        rows = type(row).objects.filter(WAITING[type(row)], pk=row.pk, sending_at=None)
        rows.update(next_try_at=F("next_try_at") + apart * timedelta(microseconds=1))


def _count_deaths(rows, at):
    """End or put off rows that end their worker each time; not those that one has in hand still."""
    left = rows.filter(WAITING[rows.model], free(at), claimed_at__isnull=False)
    deadly = left.filter(deaths__gte=MOST_DEATHS - 2)
    pks = deadly.values_list("pk", flat=True)
    locks = {quick_claims.lock_of(rows.model, pk): pk for pk in pks}
    if not locks:
        return
    with alone_with_each(list(locks)) as ours:
        ended = deadly.filter(pk__in=[locks[name] for name in ours])
        _bury_deadly(ended, at)
        _rest_before_the_last_tries(ended, at)


def _bury_deadly(ended, at):
    """Call rows dead that ended their worker at each of the last tries.

    A bad hour of the machine ends workers whatever they mail: then they get more tries.
    """
    deadly = ended.filter(deaths__gte=MOST_DEATHS - 1)
    if not deadly.exists():
        return
    most = MOST_DEATHS_OF_MANY if _others_ended_workers(deadly, at) else MOST_DEATHS
    for pk, deaths in list(deadly.filter(deaths__gte=most - 1).values_list("pk", "deaths")):
        reason = _("the worker ended at each of %(tries)s tries") % {"tries": deaths + 1}
        drop(deadly.filter(pk=pk), reason, is_dead=True)


def _others_ended_workers(deadly, at):
    """Whether rows of other mails than these ended a worker of late."""
    model, sent_of_late = deadly.model, Q(sent_at__gte=at - WAITS[-1])
    together = Q(claimed_at__in=deadly.values("claimed_at"))
    others = model.objects.filter(WAITING[model] & ~together | sent_of_late, deaths__gt=0)
    return others.exists()


def _rest_before_the_last_tries(ended, at):
    """Let rows that ended their worker twice, or more often, wait for long: an hour may pass."""
    ended.update(deaths=F("deaths") + 1, claimed_at=None, next_try_at=at + WAITS[-1])
