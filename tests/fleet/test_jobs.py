"""Long jobs: one process at a time holds a row, and none is lost with its process."""

import os
import subprocess
import sys
import threading
import time
from datetime import timedelta
from functools import partial
from pathlib import Path
from urllib.parse import quote

import psycopg
import pytest
from django.db import connection
from django.utils import timezone

from fleet import job_process, jobs, tasks
from fleet.actions import jobs as actions
from fleet.actions.jobs import LEASE, MOST_AT_ONCE, MOST_ATTEMPTS, START_LAPSES
from fleet.jobs import Cancelled, Failed
from fleet.models import Bundle
from shared.sealing import Rewritten
from tests.at_once import at_once
from tests.factories import MORNING, MembershipFactory

ROOT = Path(__file__).resolve().parents[2]
SECOND = timedelta(seconds=1)
State = Bundle.State

pytestmark = pytest.mark.django_db


@pytest.fixture
def kind(monkeypatch):
    """A kind of job for trials; its work is given by ``kind(work)``."""

    def work_is(work):
        jobs.add_kind("trial", Bundle, work)
        return jobs.kinds["trial"]

    # the real kinds share its rows
    monkeypatch.setattr(jobs, "kinds", kinds := {})
    monkeypatch.setattr(actions, "kinds", kinds)
    work_is(lambda job, at, progress: {})
    return work_is


def a_job(asked_at=MORNING, **values):
    staff = MembershipFactory()
    about = {"site": staff.site, "asked_by": staff.person, "asked_at": asked_at}
    moments = {"happened_by": MORNING, "known_by": MORNING}
    return Bundle.objects.create(**about | moments | values)


def started(at):
    """Return what one look starts."""
    found = []
    actions.start_waiting(lambda code, pk: found.append(pk), at=at)
    return found


@pytest.mark.both
def test_waiting_job_is_started_once_until_its_start_lapses(kind):
    job = a_job()

    looks = [started(MORNING), started(MORNING + SECOND), started(MORNING + START_LAPSES + SECOND)]

    assert looks == [[job.pk], [], [job.pk]]


def test_oldest_jobs_are_started_first_and_few_at_once(kind):
    asked = [a_job(MORNING - place * SECOND) for place in range(MOST_AT_ONCE + 1)]

    first = started(MORNING)
    actions.claim(kind(None), first[0], at=MORNING)
    Bundle.objects.filter(pk=first[1]).update(state=State.DONE)

    assert first == [job.pk for job in reversed(asked[1:])]
    assert started(MORNING + SECOND) == [asked[0].pk]


def test_process_that_cannot_be_started_leaves_the_job_waiting(kind):
    job = a_job()

    def no_room(code, pk):
        raise OSError("cannot allocate memory")

    assert actions.start_waiting(no_room, at=MORNING) == 0
    assert started(MORNING + START_LAPSES + SECOND) == [job.pk]


def test_job_of_a_dead_process_is_taken_up_once_its_lease_lapses(kind):
    job = a_job()
    actions.claim(kind(None), job.pk, at=MORNING)

    assert started(MORNING + LEASE) == []
    assert started(MORNING + LEASE + SECOND) == [job.pk]


@pytest.mark.both
def test_claim_is_refused_while_another_process_holds_the_row(kind):
    job = a_job()

    first = actions.claim(kind(None), job.pk, at=MORNING)
    second = actions.claim(kind(None), job.pk, at=MORNING + LEASE)

    assert (first.job.pk, second) == (job.pk, None)


@pytest.mark.both
def test_process_that_lost_its_row_settles_nothing(kind):
    job = a_job()
    slow = actions.claim(kind(None), job.pk, at=MORNING)
    taken = actions.claim(kind(None), job.pk, at=MORNING + LEASE + SECOND)

    slow.fail("late and wrong")
    with pytest.raises(Cancelled):
        slow.finish(file="late")
    slow.renew()
    with pytest.raises(Cancelled):
        slow(50)
    taken.finish(file="right")

    job.refresh_from_db()
    assert (job.state, job.file, job.message, job.attempts) == (State.DONE, "right", "", 2)


def test_renewal_keeps_the_row_and_writes_the_progress(kind):
    job = a_job()
    times = iter([MORNING + LEASE, MORNING + 2 * LEASE])
    held = actions.claim(kind(None), job.pk, at=MORNING, now=lambda: next(times))

    held(140)
    held.renew()

    job.refresh_from_db()
    assert (job.progress, job.leased_at, job.state) == (100, MORNING + LEASE, State.RUNNING)
    assert started(MORNING + 2 * LEASE) == []


def test_job_that_breaks_off_each_time_is_given_up(kind):
    job = a_job()
    at = MORNING
    for _try in range(MOST_ATTEMPTS):
        assert started(at) == [job.pk]
        actions.claim(kind(None), job.pk, at=at)
        at += LEASE + SECOND

    assert started(at) == []
    job.refresh_from_db()
    assert (job.state, job.ended_at) == (State.FAILED, at)
    assert job.message == "The work was broken off 3 times, and is not tried again."


def test_job_asked_for_again_has_all_its_attempts(kind):
    job = a_job(state=State.FAILED, attempts=MOST_ATTEMPTS, message="no", ended_at=MORNING)

    Bundle.objects.filter(pk=job.pk).update(**actions.WAITING_ANEW)

    assert started(MORNING) == [job.pk]
    assert actions.claim(kind(None), job.pk, at=MORNING).job.attempts == 1


@pytest.mark.parametrize("claimed", [False, True])
def test_cancel_ends_a_job_that_waits_or_runs(kind, claimed):
    job = a_job()
    held = actions.claim(kind(None), job.pk, at=MORNING) if claimed else None

    assert actions.cancel(job, at=MORNING)
    assert not actions.cancel(job, at=MORNING + SECOND)

    if held:
        held.renew()
        with pytest.raises(Cancelled):
            held(10)
        with pytest.raises(Cancelled):
            held.finish()
    job.refresh_from_db()
    assert (job.state, job.ended_at) == (State.CANCELLED, MORNING)
    assert started(MORNING + 2 * LEASE) == []


def answer(job, *, at, progress):
    return {"file": "made.zip", "message": f"made at {at:%H:%M}"}


def refuse(job, *, at, progress):
    raise Failed("The sheet has no heading.", file="kept.csv")


def break_down(job, *, at, progress):
    raise RuntimeError("not for the reader's eyes")


def find_it_rewritten(job, *, at, progress):
    raise Rewritten("harbour", 7)


def use_it_up(job, *, at, progress):
    raise MemoryError


def be_cancelled(job, *, at, progress):
    actions.cancel(job, at=at)
    progress.renew()
    progress(50)


@pytest.mark.parametrize(
    ("work", "state", "file", "message"),
    [
        (answer, State.DONE, "made.zip", "made at 13:00"),
        (refuse, State.FAILED, "kept.csv", "The sheet has no heading."),
        (break_down, State.FAILED, "", "The work failed. What went wrong stands in the log."),
        (find_it_rewritten, State.FAILED, "", str(Rewritten("harbour", 7))),
        (use_it_up, State.FAILED, "", "The work needs more memory than it may use."),
        (be_cancelled, State.CANCELLED, "", ""),
    ],
)
def test_run_settles_the_row_by_how_the_work_ended(kind, work, state, file, message):
    kind(work)
    job = a_job()

    answered = actions.run("trial", job.pk, now=lambda: MORNING)

    job.refresh_from_db()
    assert answered == job.state == state
    assert (job.file, job.message, job.ended_at) == (file, message, MORNING)
    assert actions.run("trial", job.pk, now=lambda: MORNING + LEASE + SECOND) is None


def test_work_may_settle_its_row_with_what_it_wrote(kind):
    def write(job, *, at, progress):
        progress.finish(file="in one transaction")

    kind(write)
    job = a_job()

    assert actions.run("trial", job.pk, now=lambda: MORNING) == State.DONE
    job.refresh_from_db()
    assert job.file == "in one transaction"


@pytest.mark.django_db(transaction=True)
@pytest.mark.services
def test_row_is_renewed_while_the_work_holds_a_transaction(kind, postgres, monkeypatch):
    monkeypatch.setattr(actions, "RENEW_EVERY_S", 0.05)
    seen = threading.Event()

    def work(job, *, at, progress):
        progress(40)
        for _look in range(200):
            time.sleep(0.02)
            if Bundle.objects.get(pk=job.pk).progress == 40:
                seen.set()
                return {}
        return {}

    kind(work)
    job = a_job()

    assert actions.run("trial", job.pk, now=timezone.now) == State.DONE
    assert seen.is_set()


@pytest.mark.django_db(transaction=True)
@pytest.mark.services
def test_eight_claims_at_once_give_the_row_to_one(kind, postgres):
    trial = kind(None)
    job = a_job()

    held = at_once(*[partial(actions.claim, trial, job.pk, at=MORNING)] * 8)

    assert sum(one is not None for one in held) == 1
    job.refresh_from_db()
    assert job.attempts == 1


@pytest.mark.django_db(transaction=True)
@pytest.mark.services
def test_eight_looks_at_once_start_a_job_once(kind, postgres):
    job = a_job()

    looks = at_once(*[partial(started, MORNING)] * 8)

    assert sorted(looks) == [[]] * 7 + [[job.pk]]


def test_tasks_start_what_waits(kind, monkeypatch):
    found = []
    monkeypatch.setattr(job_process, "start", lambda code, pk: found.append((code, pk)))
    first = a_job()
    tasks.start_jobs()
    second = a_job()
    tasks.sweep()

    assert found == [("trial", first.pk), ("trial", second.pk)]
    assert tasks.start_jobs.name == "fleet.start_jobs"


def test_ring_survives_a_lost_broker(monkeypatch, caplog):
    def lost(*args, **kwargs):
        raise ConnectionError("no broker")

    monkeypatch.setattr(tasks.start_jobs, "delay", lost)

    tasks.ring()

    assert "no worker could be asked: no broker" in caplog.text


def child_environ(tmp_path):
    """Return the environment with which a process of its own sees the test's database."""
    at = connection.settings_dict
    found = f"postgresql://{quote(at['USER'])}:{quote(at['PASSWORD'] or '')}@"
    found += f"{'' if at['HOST'].startswith('/') else at['HOST']}"
    found += f":{at['PORT']}" if at["PORT"] else ""
    found += f"/{at['NAME']}"
    if at["HOST"].startswith("/"):
        found += f"?host={at['HOST']}"
    return {
        "DJANGO_SETTINGS_MODULE": "deploy.settings",
        "FLEET_DATABASE": found,
        "FLEET_VAR": str(tmp_path),
    }


def wait_for(is_so, seconds=30):
    until = time.monotonic() + seconds
    while not is_so():
        assert time.monotonic() < until, "it did not come to pass"
        time.sleep(0.05)


@pytest.mark.django_db(transaction=True)
@pytest.mark.services
def test_killed_process_loses_no_job(postgres, tmp_path, monkeypatch):
    for name, value in child_environ(tmp_path).items():
        monkeypatch.setenv(name, value)
    at = connection.settings_dict
    job = a_job(happened_by=timezone.now(), known_by=timezone.now())
    about = {"user": at["USER"], "host": at["HOST"] or None, "port": at["PORT"] or None}
    processes = []

    def start(code, pk):
        processes.append(job_process.start(code, pk))

    with psycopg.connect(dbname=at["NAME"], password=at["PASSWORD"] or None, **about) as blocker:
        # the first process waits here in the middle of its work
        blocker.execute("LOCK TABLE shared_change IN ACCESS EXCLUSIVE MODE")
        actions.start_waiting(start, at=timezone.now())
        wait_for(lambda: Bundle.objects.get(pk=job.pk).state == State.RUNNING)
        processes[0].kill()
        processes[0].wait()
    assert Bundle.objects.get(pk=job.pk).state == State.RUNNING

    actions.start_waiting(start, at=timezone.now() + LEASE + SECOND)
    assert processes[1].wait(60) == 0

    job.refresh_from_db()
    assert (job.state, job.attempts, job.progress) == (State.DONE, 2, 100)
    assert sorted(path.name for path in (tmp_path / "media/bundles").iterdir()) == [f"{job.pk}.zip"]


BOUND = """
import time
import django
django.setup()
from fleet.job_process import bound
from fleet.jobs import Allowance, Failed
try:
    with bound(Allowance(wall_s=1, memory_bytes=400 * 2**20)):
        {work}
except (Failed, MemoryError) as ended:
    print(type(ended).__name__)
"""


@pytest.mark.parametrize(
    ("work", "ended"),
    [
        ("time.sleep(30)", "Failed"),
        ("bytearray(2**30)", "MemoryError"),
        ("print('in time')", "in time"),
    ],
)
def test_process_is_held_to_its_time_and_memory(work, ended, tmp_path):
    environ = os.environ | {"DJANGO_SETTINGS_MODULE": "deploy.settings", "FLEET_VAR": str(tmp_path)}
    command = [sys.executable, "-c", BOUND.format(work=work)]

    done = subprocess.run(
        command, cwd=ROOT, env=environ, capture_output=True, text=True, timeout=30
    )

    assert done.stdout == f"{ended}\n", done.stderr
