"""What the worker runs: read the clock, call one action."""

import logging
import threading
import time
from uuid import UUID

from celery import shared_task

from fleet import job_process
from fleet.actions import jobs, reminders
from shared import clock
from shared.actions import note_done
from shared.models import LastDone

log = logging.getLogger(__name__)
watch = clock.Watch()
RESTS_S = 10  # judgement, no source
# until the next sweep
HANDED_OUT_S = 60


class Bell:
    """A broker that did not answer is left alone for a while, by this process.

    Each try costs its page a second; of many pages at once all would wait in line. So
    after a rest one page tries, and the others leave it alone until that one was answered.
    """

    rests_until_s = None

    def __init__(self):
        self.turn = threading.Lock()

    def may_be_asked(self) -> bool:
        with self.turn:
            if self.rests_until_s is None:
                return True
            tries_now = time.monotonic() >= self.rests_until_s
            if tries_now:
                self.rest()
            return tries_now

    def rest(self):
        self.rests_until_s = time.monotonic() + RESTS_S

    def answered(self):
        self.rests_until_s = None


bell = Bell()


@shared_task(name="fleet.sweep")
def sweep():
    """Write and mail the reminders that are owed now; may run twice or at once."""
    at = clock.now()
    reminders.note_clock(watch, at=at)
    jobs.start_waiting(job_process.start, at=at)
    reminders.sweep(at, hand_out)
    note_done(LastDone.What.SWEEP_BY_BEAT, at=at)


@shared_task(name="fleet.mail_digests")
def mail_digests(people):
    """Mail the digests of some people; may run twice or at once."""
    reminders.mail_digests([UUID(pk) for pk in people], clock.now())


def hand_out(people) -> bool:
    """Have workers mail the digests of these people, a batch each; say whether they were asked.

    Of what no worker came to by the next sweep, that asks again.
    """
    batches = range(0, len(people), reminders.PEOPLE_A_BATCH)
    return all(_ask_to_mail(people[start:][: reminders.PEOPLE_A_BATCH]) for start in batches)


def _ask_to_mail(people):
    words = [str(pk) for pk in people]
    return _asked(lambda: mail_digests.apply_async([words], expires=HANDED_OUT_S))


@shared_task(name="fleet.start_jobs")
def start_jobs():
    """Start a process for each long job that waits; may run twice or at once."""
    jobs.start_waiting(job_process.start, at=clock.now())


def ring():
    """Ask the worker to look for jobs now; when it cannot be asked, the sweep looks later."""
    _asked(start_jobs.delay)


def _asked(ask) -> bool:
    if not bell.may_be_asked():
        return False
    try:
        ask()
    except Exception as trouble:  # whatever the broker does, the row waits
        bell.rest()
        log.warning("no worker could be asked: %s", trouble)
        return False
    bell.answered()
    return True
