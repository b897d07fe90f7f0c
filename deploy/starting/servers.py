"""PostgreSQL and Redis for one run of tests or faults, in a folder of their own."""

import contextlib
import ctypes
import os
import random
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from abc import ABC, abstractmethod
from collections.abc import Iterator
from pathlib import Path

import debian
from fault import CannotStart
from ground import say
from keeper import PR_SET_PDEATHSIG

# a server that was killed mends its files first
WAIT_S = 90
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
    with folder("postgresql") as base:
        server = PostgreSQL(base, THROWN_AWAY)
        server.make()
        server.start()
        try:
            yield server.address
        finally:
            server.stop()


@contextlib.contextmanager
def redis() -> Iterator[str]:
    with folder("redis") as base:
        server = Redis(base, free_port())
        server.start()
        try:
            yield server.address
        finally:
            server.stop()


class Server(ABC):
    """A server's process, apart from the terminal's Ctrl-C."""

    name: str
    process: subprocess.Popen | None = None

    def serve(self, command: list, **popen) -> None:
        apart = {"start_new_session": True, "preexec_fn": end_with_the_starter}
        self.process = subprocess.Popen(command, **apart, **popen)
        wait_for(self.name, self.process, self.is_up)

    @abstractmethod
    def is_up(self) -> bool:
        """Whether it answers."""

    def stop(self) -> None:
        self.process.send_signal(signal.SIGINT)
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.wait(WAIT_S)
        self.kill()

    def kill(self) -> None:
        """End it and its children as kill -9 does, and wait until all are gone."""
        pids = [self.process.pid, *children_of(self.process.pid)]
        for pid in pids:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        self.process.wait()
        while any(is_alive(pid) for pid in pids):
            time.sleep(0.01)

    def freeze(self) -> None:
        self.process.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        self.process.send_signal(signal.SIGCONT)


# a crash may lose it all: it is thrown away anyway. Counted by autovacuum in between,
# tables that one test fills uncommitted look empty, and plans go wrong
THROWN_AWAY = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", "autovacuum=off")


class PostgreSQL(Server):
    name = "PostgreSQL"

    def __init__(self, base: Path, settings: tuple[str, ...] = ()):
        self.base, self.settings = base, settings
        self.programs, self.user = postgresql_folder(), postgresql_user()
        self.address = f"postgresql://test@/postgres?host={base}"
        self.quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": base}

    def make(self) -> None:
        self.own(self.base)
        make = [self.programs / "initdb", "-D", self.base / "data", "-U", "test", "-A", "trust"]
        make += ["-E", "UTF8", "--locale=C.UTF-8", "--no-sync", "-N"]
        subprocess.run(make, check=True, **self.quiet, **self.user)

    def own(self, path: Path) -> None:
        """Give a folder to the user that the server runs as."""
        if self.user:
            shutil.chown(path, self.user["user"], self.user["group"])

    def start(self) -> None:
        serve = [self.programs / "postgres", "-D", self.base / "data", "-k", self.base]
        serve += ["-c", "listen_addresses="]
        for setting in self.settings:
            serve += ["-c", setting]
        self.serve(serve, **self.quiet, **self.user)

    def is_up(self) -> bool:
        return subprocess.run([self.programs / "pg_isready", "-q", "-h", self.base]).returncode == 0


class Redis(Server):
    name = "Redis"

    def __init__(self, base: Path, port: int):
        self.base, self.port = base, port
        self.address = f"redis://127.0.0.1:{port}/0"

    def start(self) -> None:
        serve = ["redis-server", "--port", str(self.port), "--bind", "127.0.0.1"]
        serve += ["--dir", self.base, "--save", "", "--appendonly", "no"]
        self.serve(serve, stdout=subprocess.DEVNULL)

    def is_up(self) -> bool:
        return is_open(self.port)


def end_with_the_starter() -> None:
    """Let the server be told to stop should the one that started it be killed outright."""
    ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGINT)


def is_alive(pid: int) -> bool:
    """Say whether a process runs still; one that only waits to be reaped holds nothing."""
    try:
        return _status(pid)[0] != "Z"
    except OSError:
        return False


def children_of(pid: int) -> list[int]:
    """Return the processes that this one started."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            if int(_status(int(folder.name))[1]) == pid:
                found.append(int(folder.name))
    return found


def _status(pid: int) -> list[str]:
    """Return what the kernel tells of a process, from its state on (proc(5))."""
    # the name in brackets before may hold blanks
    return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()


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
