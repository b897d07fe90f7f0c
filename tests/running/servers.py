"""PostgreSQL and Redis for one run, in a folder of their own, gone afterwards."""

import contextlib
import os
import random
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import debian
from fault import CannotStart
from ground import say

WAIT_S = 30
# ports from here to 32767 are not handed out to clients
FIRST_PORT, LAST_PORT = 20_000, 32_767

DEBIAN_PACKAGES = {"PostgreSQL": "postgresql", "Redis": "redis-server", "Chromium": "chromium"}
GROUPS = {"PostgreSQL": "services", "Redis": "services", "Chromium": "browser"}


def bring_up(stack: contextlib.ExitStack) -> tuple[dict[str, str], set[str]]:
    """Start what there is; return the tests' environment and the groups left out."""
    lacking = bring_packages()
    environ = {}
    if "PostgreSQL" not in lacking:
        environ["FLEET_TEST_DATABASE"] = stack.enter_context(postgresql())
    if "Redis" not in lacking:
        environ["FLEET_TEST_REDIS"] = stack.enter_context(redis())
    for name in lacking:
        say(f"{name} is missing: the tests marked '{GROUPS[name]}' are left out.")
    return environ, {GROUPS[name] for name in lacking}


def bring_packages() -> list[str]:
    """Install what is missing, where this person may; return what is missing still."""
    lacking = find_lacking()
    if lacking and debian.authority() is not None:
        say(f"Installing Debian's packages for {', '.join(lacking)} ...")
        debian.install(*(DEBIAN_PACKAGES[name] for name in lacking))
    return find_lacking()


def find_lacking() -> list[str]:
    found = {
        "PostgreSQL": postgresql_folder(),
        "Redis": shutil.which("redis-server"),
        "Chromium": shutil.which("chromium"),
    }
    return [name for name, place in found.items() if not place]


def postgresql_folder() -> Path | None:
    """Return where Debian keeps the server's programs, the newest first."""
    found = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    newest = sorted(found, key=lambda program: float(program.parts[-3]))
    return newest[-1].parent if newest else None


def postgresql_user() -> dict:
    """PostgreSQL refuses to run as root."""
    if os.geteuid() == 0:
        return {"user": "postgres", "group": "postgres", "extra_groups": []}
    return {}


@contextlib.contextmanager
def folder(name: str) -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix=f"fleet-{name}-", ignore_cleanup_errors=True) as path:
        yield Path(path)


@contextlib.contextmanager
def postgresql() -> Iterator[str]:
    """Yield the address of a server that listens at a socket in its own folder only."""
    programs, user = postgresql_folder(), postgresql_user()
    with folder("postgresql") as base:
        if user:
            shutil.chown(base, user["user"], user["group"])
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": base}
        make = [programs / "initdb", "-D", base / "data", "-U", "test", "-A", "trust"]
        make += ["-E", "UTF8", "--locale=C.UTF-8", "--no-sync", "-N"]
        subprocess.run(make, check=True, **quiet, **user)
        serve = [programs / "postgres", "-D", base / "data", "-k", base, "-c", "listen_addresses="]
        # counted in between, tables that one test fills uncommitted look empty, and plans go wrong
        serve += ["-c", "autovacuum=off"]
        # a crash may lose it all: it is thrown away anyway
        for slow in ("fsync", "synchronous_commit", "full_page_writes"):
            serve += ["-c", f"{slow}=off"]
        ask = [programs / "pg_isready", "-q", "-h", base]
        with running(serve, **quiet, **user) as server:
            wait_for("PostgreSQL", server, lambda: subprocess.run(ask).returncode == 0)
            yield f"postgresql://test@/postgres?host={base}"


@contextlib.contextmanager
def redis() -> Iterator[str]:
    port = free_port()
    with folder("redis") as base:
        serve = ["redis-server", "--port", str(port), "--bind", "127.0.0.1", "--dir", base]
        serve += ["--save", "", "--appendonly", "no"]
        with running(serve, stdout=subprocess.DEVNULL) as server:
            wait_for("Redis", server, lambda: is_open(port))
            yield f"redis://127.0.0.1:{port}/0"


@contextlib.contextmanager
def running(command: list, **popen) -> Iterator[subprocess.Popen]:
    """Run a server apart from the terminal's Ctrl-C; it ends with the block."""
    server = subprocess.Popen(command, start_new_session=True, **popen)
    try:
        yield server
    finally:
        server.send_signal(signal.SIGINT)
        with contextlib.suppress(subprocess.TimeoutExpired):
            server.wait(WAIT_S)
        server.kill()
        server.wait()


def wait_for(name: str, server: subprocess.Popen, is_up) -> None:
    deadline_s = time.monotonic() + WAIT_S
    while not is_up():
        if server.poll() is not None or time.monotonic() > deadline_s:
            raise CannotStart(f"the tests' {name} did not come up")
        time.sleep(0.05)


def free_port() -> int:
    for port in random.sample(range(FIRST_PORT, LAST_PORT), 100):
        with socket.socket() as trial, contextlib.suppress(OSError):
            trial.bind(("127.0.0.1", port))
            return port
    raise CannotStart("no free port was found for the tests' Redis")


def is_open(port: int) -> bool:
    with socket.socket() as trial:
        return trial.connect_ex(("127.0.0.1", port)) == 0
