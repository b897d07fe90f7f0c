import os
import subprocess
import sys
from pathlib import Path

import pytest
from celery.signals import task_received, worker_ready

import deploy.celery
from deploy import silence

ROOT = Path(__file__).resolve().parent.parent.parent
# a worker of the tool's own app, with limits that a test can wait for
SHORT = """
import sys
from deploy import silence
silence.LEAST_S, silence.RINGS, silence.LOOK_EVERY_S, silence.GRACE_S = 1, 0, 0.1, {grace_s}
{more}
from deploy.celery import app
app.worker_main(["--quiet", "worker", "--without-gossip", "--without-mingle"])
"""


def test_silence_is_counted_from_the_last_task():
    clock_s = iter([0, 180, 180.5, 361])
    quiet = silence.Silence(180, print, now=lambda: next(clock_s))

    assert not quiet.is_too_long()
    quiet.break_off(sender="a consumer", request=None)
    assert quiet.is_too_long()


def test_three_rings_may_fail_where_they_are_rare(settings):
    settings.SWEEP_EVERY_S = 300

    assert silence.limit_s() == 900


def test_worker_listens_for_tasks_once_it_is_ready(monkeypatch):
    begun = []
    monkeypatch.setattr(silence.Silence, "listen", lambda quiet: begun.append(quiet))
    before = list(task_received.receivers)

    worker_ready.send(sender=deploy.celery)
    (quiet,) = begun
    quiet.heard_at_s = 0
    task_received.send(sender=deploy.celery)

    assert quiet.heard_at_s > 0
    task_received.receivers = before


@pytest.mark.parametrize(
    "more", ["", "import os, signal\nos.kill = lambda pid, number: None"], ids=["heeds", "stuck"]
)
def test_worker_that_hears_nothing_ends(tmp_path, more):
    """Whether it heeds the signal to stop, or is stuck and does not."""
    script = SHORT.format(grace_s=1 if more else 60, more=more)
    own = {"FLEET_VAR": str(tmp_path), "DJANGO_SETTINGS_MODULE": "deploy.settings"}
    environ = {name: said for name, said in os.environ.items() if not name.startswith("FLEET_")}

    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=ROOT,
        env=environ | own,
        capture_output=True,
        text=True,
        timeout=60,
    )

    assert done.returncode == (1 if more else 0)
    assert "no task came for" in done.stderr
