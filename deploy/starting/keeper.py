"""Run web, worker, beat and sweep, start again what dies, and stop all of it together."""

import contextlib
import ctypes
import os
import signal
import subprocess
import time
from collections.abc import Callable, Mapping
from pathlib import Path

import ground
from fault import CannotStart
from network import bracketed

STOP_WAIT_S = 10
LOOK_EVERY_S = 0.25
DEATHS_ALLOWED = 4
DEATHS_WITHIN_S = 60
# from Linux's prctl.h
PR_SET_PDEATHSIG = 1


class GaveUp(Exception):
    pass


class Manage:
    """The tool's own commands, run one after another before it starts."""

    def __init__(self, python: Path, root: Path, environ: Mapping[str, str]):
        self.command = [python, "manage.py"]
        self.where = {"cwd": root, "env": environ}

    def run(self, *words: str) -> None:
        if subprocess.run([*self.command, *words], **self.where).returncode:
            raise CannotStart(f"'manage.py {words[0]}' failed; the lines above say why")

    def ask(self, *words: str) -> str:
        heard = {"text": True, "stdout": subprocess.PIPE}
        done = subprocess.run([*self.command, *words], **self.where, **heard)
        if done.returncode:
            raise CannotStart(f"'manage.py {words[0]}' failed; the lines above say why")
        return done.stdout.strip()


class Child:
    """One process with its own group, so that Ctrl-C reaches it only through the keeper."""

    def __init__(self, name: str, command: list, root: Path, environ: Mapping[str, str]):
        self.name, self.command, self.root, self.environ = name, command, root, environ
        self.deaths: list[float] = []

    def start(self) -> None:
        self.process = subprocess.Popen(
            self.command,
            cwd=self.root,
            env=self.environ,
            start_new_session=True,
            preexec_fn=end_with_the_keeper,
        )

    def has_ended(self) -> bool:
        return self.process.poll() is not None

    def start_again(self, at_s: float) -> None:
        """Start it again, unless it keeps dying."""
        recent = [then_s for then_s in self.deaths if at_s - then_s < DEATHS_WITHIN_S]
        self.deaths = [*recent, at_s]
        if len(self.deaths) > DEATHS_ALLOWED:
            raise GaveUp(f"the {self.name} ended {len(self.deaths)} times within a minute")
        ground.say(f"The {self.name} ended ({self.process.returncode}); it is started again.")
        time.sleep(LOOK_EVERY_S)
        self.start()

    def finish(self, deadline_s: float) -> None:
        """Wait for its end, then kill what is left of its group."""
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.wait(max(0, deadline_s - time.monotonic()))
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


def end_with_the_keeper() -> None:
    """Let the child be told to stop should the keeper be killed outright."""
    ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)


def processes(
    python: Path, root: Path, environ: Mapping[str, str], bind: tuple[str, int]
) -> list[Child]:
    host, port = bind
    web = [python, "-m", "gunicorn", "deploy.wsgi", "--bind", f"{bracketed(host)}:{port}"]
    web += ["--workers", "2", "--worker-class", "gthread", "--threads", "4"]
    web += ["--graceful-timeout", "8", "--log-level", "warning"]
    web += ["--config", "python:deploy.gunicorn"]
    # said once for all three by ground.mention_root
    unsaid = "ignore:You're running the worker with superuser"
    celery = [python, "-W", unsaid, "-m", "celery", "--quiet", "--app", "deploy"]
    worker = [*celery, "worker", "--without-gossip", "--without-mingle", "--without-heartbeat"]
    # no file of its process id: it would outlive a kill and stop the next start
    beat = [*celery, "beat", "--pidfile="]
    # beat stalls when the clock steps back, and a broker may be lost
    sweep = [python, "manage.py", "sweep", "--loop"]
    named = {"web server": web, "worker": worker, "beat": beat, "sweep": sweep}
    return [Child(name, command, root, environ) for name, command in named.items()]


def keep(children: list[Child], *, ready: Callable, announce: Callable) -> None:
    """Run the children until a signal comes or one of them cannot be kept alive."""
    try:
        for child in children:
            child.start()
        while not ready():
            look_after(children)
        announce()
        while True:
            look_after(children)
    finally:
        stop(children)


def look_after(children: list[Child]) -> None:
    for child in children:
        if child.has_ended():
            child.start_again(time.monotonic())
    time.sleep(LOOK_EVERY_S)


def stop(children: list[Child]) -> None:
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)
    started = [child for child in children if hasattr(child, "process")]
    for child in started:
        child.process.terminate()
    deadline_s = time.monotonic() + STOP_WAIT_S
    for child in started:
        child.finish(deadline_s)
