"""Claim, work, settle: a job's row is held by one process at a time, by a lease it renews.

A process that dies leaves its lease to lapse, and the next look starts another; what it
had not settled is done again. Every claim and renewal filters on the row's own columns.
"""

import logging
import threading
from contextlib import contextmanager
from datetime import timedelta

from django.db import DatabaseError, connection
from django.db.models import F, Q
from django.utils.translation import gettext as _

from fleet.jobs import Cancelled, Failed, JobKind, kinds
from fleet.models.job import Job
from shared.outside import BehindOutside
from shared.sealing import Rewritten

log = logging.getLogger(__name__)

LEASE = timedelta(seconds=90)
# a process that was started has this long to claim its row
START_LAPSES = timedelta(seconds=30)
RENEW_EVERY_S = 2
MOST_ATTEMPTS = 3
MOST_AT_ONCE = 2
WAITING, RUNNING, DONE = Job.State.WAITING, Job.State.RUNNING, Job.State.DONE
FAILED, CANCELLED = Job.State.FAILED, Job.State.CANCELLED
WAITING_ANEW = {
    "state": WAITING,
    "attempts": 0,
    "progress": 0,
    "leased_at": None,
    "ended_at": None,
    "message": "",
}


def start_waiting(start, *, at) -> int:
    """Start a process for each row that waits or whose process died; return how many.

    ``start(code, pk)`` starts one. A row is passed to one caller alone; at most
    MOST_AT_ONCE processes run.
    """
    started = 0
    for kind in kinds.values():
        _give_up_worn_out(kind, at)
        room = MOST_AT_ONCE - sum(_busy(each, at) for each in kinds.values())
        waiting = kind.model.objects.filter(_startable(at)).order_by("asked_at")
        for pk in waiting.values_list("pk", flat=True)[: max(0, room)]:
            if _mark_started(kind, pk, at):
                started += _try_to(start, kind.code, pk)
    return started


def _try_to(start, code, pk):
    try:
        start(code, pk)
    except OSError as trouble:
        # no room for a process now: a later look starts it
        log.warning("%s %s could not be started: %s", code, pk, trouble)
        return False
    return True


def _startable(at):
    unstarted = Q(leased_at=None) | Q(leased_at__lt=at - START_LAPSES)
    return Q(unstarted, state=WAITING) | _lapsed(at)


def _lapsed(at):
    return Q(state=RUNNING, leased_at__lt=at - LEASE)


def _busy(kind, at):
    starting = Q(state=WAITING, leased_at__gte=at - START_LAPSES)
    running = Q(state=RUNNING, leased_at__gte=at - LEASE)
    return kind.model.objects.filter(starting | running).count()


def _mark_started(kind, pk, at):
    rows = kind.model.objects.filter(_startable(at), pk=pk)
    return rows.update(state=WAITING, leased_at=at) == 1


def _give_up_worn_out(kind, at):
    rows = kind.model.objects.filter(_startable(at), attempts__gte=MOST_ATTEMPTS)
    words = _("The work was broken off %(times)s times, and is not tried again.")
    rows.update(state=FAILED, ended_at=at, message=words % {"times": MOST_ATTEMPTS})


def cancel(job, *, at) -> bool:
    """Cancel a job that waits or runs; its process stops at its next step."""
    rows = type(job).objects.filter(pk=job.pk, state__in=(WAITING, RUNNING))
    return rows.update(state=CANCELLED, ended_at=at) == 1


def run(code, pk, *, now):
    """Claim a row, do its work and settle it; return its state, None when not to be had.

    ``now`` gives the moment whenever it is called, to renew the lease by.
    """
    kind = kinds[code]
    at = now()
    held = claim(kind, pk, at=at, now=now)
    if held is None:
        return None
    try:
        with held.renewed():
            columns = kind.run(held.job, at=at, progress=held)
        held.finish(**columns or {})
    except Cancelled:
        log.info("%s %s was cancelled", code, pk)
    except Failed as failed:
        held.fail(failed.words, **failed.columns)
    except (BehindOutside, Rewritten) as fault:
        held.fail(str(fault))
    except MemoryError:
        held.fail(_("The work needs more memory than it may use."))
    except Exception:  # the row says so, and the log why
        log.exception("%s %s failed", code, pk)
        held.fail(_("The work failed. What went wrong stands in the log."))
    return kind.model.objects.values_list("state", flat=True).get(pk=pk)


def claim(kind: JobKind, pk, *, at, now=None):
    """Return the row as Held by this process; None if it has ended or another holds it."""
    free = Q(state=WAITING) | _lapsed(at)
    rows = kind.model.objects.filter(free, pk=pk, attempts__lt=MOST_ATTEMPTS)
    if not rows.update(state=RUNNING, leased_at=at, attempts=F("attempts") + 1, progress=0):
        return None
    return Held(kind.model.objects.get(pk=pk), now or (lambda: at))


class Held:
    """A claimed row. Called with a percentage it takes down the progress of the work."""

    def __init__(self, job, now):
        self.job, self.now = job, now
        self.percent = 0
        self.is_lost = self.is_settled = False

    def __call__(self, percent):
        """Take down how far the work is. Raises Cancelled when the row was taken away."""
        self.percent = max(0, min(100, int(percent)))
        if self.is_lost:
            raise Cancelled

    def finish(self, **columns):
        """Settle the row as done with these columns. Raises Cancelled if it was taken away."""
        if self.is_settled:
            return
        ending = {"progress": 100, "ended_at": self.now()} | columns
        if not self._mine().update(state=DONE, **ending):
            raise Cancelled
        self.is_settled = True

    def fail(self, words, **columns):
        self._mine().update(state=FAILED, ended_at=self.now(), message=words, **columns)

    def renew(self):
        """Renew the lease, and write the progress down."""
        if not self.is_settled:
            found = self._mine().update(leased_at=self.now(), progress=self.percent)
            # the work may have settled it in between
            self.is_lost = not found and not self.is_settled

    @contextmanager
    def renewed(self):
        """Renew now and then from a thread, whose connection no transaction holds up."""
        is_over = threading.Event()
        thread = threading.Thread(target=self._renew_until, args=(is_over,), daemon=True)
        thread.start()
        try:
            yield
        finally:
            is_over.set()
            thread.join()

    def _renew_until(self, is_over):
        while not is_over.wait(RENEW_EVERY_S):
            try:
                self.renew()
            except DatabaseError as error:
                # SQLite is busy while the work writes: nobody else can claim then
                log.debug("%s not renewed: %s", self.job.pk, error)
        connection.close()

    def _mine(self):
        rows = type(self.job).objects.filter(pk=self.job.pk, attempts=self.job.attempts)
        return rows.filter(state=RUNNING)
