"""One run's servers and programs, each started, killed, frozen or brought back by hand."""

import contextlib
import json
import random
import subprocess
import sys
import time
from pathlib import Path

import keeper
import network
from servers import Redis, Server

from deploy.faults.place import POSTGRESQL, REDIS, SMTP, WEB, Place

ROOT = Path(__file__).resolve().parent.parent.parent
WAIT_S = 60


class Sink(Server):
    """The mail server that takes what is sent; ``python -m deploy.faults.sink`` says how."""

    name = "mail sink"

    def __init__(self, folder: Path, port: int):
        self.folder, self.port = folder, port
        folder.mkdir(exist_ok=True)

    def start(self) -> None:
        command = [sys.executable, "-m", "deploy.faults.sink", self.folder, str(self.port)]
        self.serve(command, cwd=ROOT)

    def is_up(self) -> bool:
        return is_open(self.port)

    def behave(self, mode: str, **by_address: str) -> None:
        (self.folder / "mode").write_text(mode)
        lines = [f"{address} {own}\n" for address, own in by_address.items()]
        (self.folder / "modes").write_text("".join(lines))

    def taken(self) -> list[dict]:
        """Return each mail taken: to, id, subject, at, carts."""
        return self._lines("taken")

    def connections(self) -> list[float]:
        """Return when each connection was made, as time.time() had it."""
        return self._lines("connections")

    def held_s(self) -> list[float]:
        """Return for how many seconds each connection lasted that has ended."""
        return self._lines("held")

    def _lines(self, name):
        with contextlib.suppress(FileNotFoundError):
            return [json.loads(line) for line in (self.folder / name).read_text().splitlines()]
        return []


class World:
    """Everything of one run. A context manager: whatever was started is gone after it."""

    def __init__(self, place: Place):
        self.place = place
        self.random = random.Random(place.seed)
        self.postgresql = place.postgresql
        self.redis = Redis(place.base / "redis", place.ports[REDIS])
        self.sink = Sink(place.base / "sink", place.ports[SMTP])
        self.programs: list[keeper.Child] = []

    def __enter__(self):
        if self.place.database == POSTGRESQL:
            self.postgresql.start()
        return self

    def __exit__(self, *raised):
        for program in self.programs:
            kill(program)
        for server in (self.sink, self.redis, self.postgresql):
            if server.process is not None:
                server.thaw()
                server.kill()

    def start(
        self, name: str, *words: str, root: Path = ROOT, port: int | None = None, **environ: str
    ) -> keeper.Child:
        """Start one of the programs, "web server", "worker", "beat" or "sweep", with more words.

        ``root`` is where its code lies: another release's is somewhere else.
        """
        port = port or self.place.ports[WEB]
        bind = ("127.0.0.1", port)
        everything = self.place.environ | environ
        (program,) = (
            child
            for child in keeper.processes(Path(sys.executable), root, everything, bind)
            if child.name == name
        )
        program.command = known_to(root, program.command) + list(words)
        program.start()
        self.programs.append(program)
        if name == "web server":
            wait_until(lambda: is_open(port), "the web server answers")
        return program

    def manage(self, *words: str, **environ: str) -> subprocess.CompletedProcess:
        """Run one of the tool's commands to its end."""
        command = [sys.executable, "manage.py", *words]
        everything = self.place.environ | environ
        return subprocess.run(command, cwd=ROOT, env=everything, capture_output=True, text=True)

    def arm(self, point: str, after: int = 0) -> None:
        """Have the next process that comes to a kill point end there, after so many passes."""
        self._put(f"kill-at-{point}", str(after))

    def has_fired(self, point: str) -> bool:
        return not (self.place.base / "trials" / f"kill-at-{point}").exists()

    def set_clock(self, off_by_s: float) -> None:
        """Make every process's clock wrong by so many seconds from now on."""
        self._put("clock-off-by", str(off_by_s))

    def _put(self, name: str, said: str) -> None:
        """Write a file of the trials' folder whole: nobody reads half of it."""
        part = self.place.base / "trials" / "part"
        part.write_text(said)
        part.replace(self.place.base / "trials" / name)


def known_to(root: Path, command: list) -> list:
    """Return the command without the file of gunicorn's settings where a release has none."""
    if (root / "deploy" / "gunicorn.py").exists():
        return command
    return [word for word in command if word not in ("--config", "python:deploy.gunicorn")]


def kill(program: keeper.Child) -> None:
    """End a program with all its group as kill -9 does."""
    program.finish(time.monotonic())


def is_open(port: int) -> bool:
    return network.answers("127.0.0.1", port)


def wait_until(is_so, what: str, within_s: float = WAIT_S) -> float:
    """Wait until it is so; return how many seconds that took. Raises TimeoutError."""
    began_s = time.monotonic()
    while not is_so():
        if time.monotonic() - began_s > within_s:
            raise TimeoutError(f"waited {within_s:.0f} s in vain: {what}")
        time.sleep(0.05)
    return time.monotonic() - began_s
