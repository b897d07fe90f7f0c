"""Who rings gives up within about a second; only the worker, which listens, has patience."""

import ast
import os
import socket
import subprocess
import sys

import pytest

from deploy import brokers
from deploy.celery import app
from deploy.settings import ROOT

RING = """
import django, time
django.setup()
from fleet.tasks import start_jobs
for _ in range(2):
    began = time.monotonic()
    try:
        start_jobs.delay()
        print('rung')
    except Exception as fault:
        print(type(fault).__name__, round(time.monotonic() - began, 2))
"""
# 1 s of the socket, and what a busy machine adds
MOST_S = 2.0


@pytest.fixture
def silent():
    """A server that takes connections and never answers, as a frozen Redis does."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        yield listening.getsockname()[1]


@pytest.fixture
def refusing(silent):
    with socket.create_server(("127.0.0.1", 0)) as listening:
        port = listening.getsockname()[1]
    return port


def rung_at(port, var):
    given = {"FLEET_VAR": str(var), "FLEET_BROKER": f"redis://127.0.0.1:{port}/0"}
    bare = {name: value for name, value in os.environ.items() if not name.startswith("FLEET_")}
    done = subprocess.run(
        [sys.executable, "-c", RING],
        cwd=ROOT,
        env=bare | given | {"DJANGO_SETTINGS_MODULE": "deploy.settings"},
        capture_output=True,
        text=True,
        timeout=60,
    )
    return [line.split() for line in done.stdout.splitlines()]


@pytest.mark.parametrize("broker", ["silent", "refusing"])
def test_ringing_a_broker_that_does_not_answer_gives_up_soon(request, tmp_path, broker):
    tries = rung_at(request.getfixturevalue(broker), tmp_path)

    assert [name for name, _ in tries] == ["OperationalError"] * 2
    assert max(float(took_s) for _, took_s in tries) < MOST_S


PATIENCE = """
import django
django.setup()
from celery.signals import celeryd_init
from deploy.celery import app
celeryd_init.send(sender='w', instance=None, conf=app.conf, options={})
print(sorted(app.connection_for_read().transport_options.items()))
"""


def options_of_a_worker(var, **given):
    bare = {name: value for name, value in os.environ.items() if not name.startswith("FLEET_")}
    given |= {"FLEET_VAR": str(var), "DJANGO_SETTINGS_MODULE": "deploy.settings"}
    done = subprocess.run(
        [sys.executable, "-c", PATIENCE], cwd=ROOT, env=bare | given, capture_output=True, text=True
    )
    return dict(ast.literal_eval(done.stdout))


def test_the_worker_has_patience(tmp_path):
    told = options_of_a_worker(tmp_path, FLEET_BROKER="redis://127.0.0.1:1/0")

    assert told == brokers.LISTEN
    assert told["socket_timeout"] > brokers.RING["socket_timeout"]
    assert told["visibility_timeout"] > app.conf.task_time_limit


def test_a_worker_at_the_broker_of_files_keeps_its_folders(tmp_path):
    told = options_of_a_worker(tmp_path)

    assert told["data_folder_in"] == str(tmp_path / "broker" / "messages")
