"""Faults run in processes and places of their own, one after another or several at once."""

import contextlib
import json
import subprocess
import sys
import tempfile
import time
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import asdict
from pathlib import Path

from servers import end_with_the_starter

from deploy.faults.listed import Fault
from deploy.faults.place import Place
from deploy.faults.running import NOT_TRIED, Order
from deploy.faults.world import ROOT

LOG_LINES = 40
LOOK_EVERY_S = 0.1


class Apart:
    """One fault on one database; ``how`` goes into its order: count, seed, is_long, older."""

    def __init__(self, fault: Fault, template: Place, **how):
        self.fault, self.template, self.how = fault, template, how
        self.rooms = contextlib.ExitStack()

    def start(self) -> None:
        folder = tempfile.TemporaryDirectory(prefix=f"fault-{self.fault.code}-")
        base = Path(self.rooms.enter_context(folder))
        base.chmod(0o755)
        place = Place.made(base / "run", self.template.database, self.how["seed"])
        place.copy_database(self.template)
        self.log, self.told = place.base / "log", place.base / "told"
        order = Order(
            self.fault.code,
            base=str(place.base),
            database=place.database,
            ports=place.ports,
            **self.how,
        )
        with self.log.open("w") as log, self.told.open("w") as told:
            self.process = subprocess.Popen(
                [sys.executable, "manage.py", "faults", "--inside", json.dumps(asdict(order))],
                cwd=ROOT,
                env=place.environ,
                stdout=told,
                stderr=log,
                preexec_fn=end_with_the_starter,
            )

    def has_ended(self) -> bool:
        return self.process.poll() is not None

    def close(self) -> None:
        """End it, though it be in the middle, and clear its place."""
        self.process.terminate()
        self.process.wait()
        self.rooms.close()

    def said(self) -> str:
        """Return its line, and the log's end where it failed."""
        line = self.told.read_text().strip() or f"{self.fault.name} ended without a word"
        said = [f"{self.fault.code:4} {line}"]
        if self.passed() is False:
            said += [f"  | {line}" for line in _telling(self.log.read_text(errors="replace"))]
        return "\n".join(said)

    def passed(self) -> bool | None:
        """Return whether all held; None when what it needs is not here."""
        return None if self.process.returncode == NOT_TRIED else not self.process.returncode


def run_all(runs: Iterable[Apart], at_once: int, say: Callable) -> list[bool | None]:
    """Run so many at a time; say each one's line as it ends; return whether they passed."""
    waiting, going, results = deque(runs), [], []
    try:
        while waiting or going:
            while waiting and len(going) < at_once:
                one = waiting.popleft()
                one.start()
                going.append(one)
            for ended in [one for one in going if one.has_ended()]:
                say(ended.said())
                results.append(ended.passed())
                going.remove(ended)
                ended.close()
            time.sleep(LOOK_EVERY_S)
    finally:
        for one in going:
            one.close()
    return results


def _telling(log):
    """Return the last lines of a log: of trouble, where it tells of any."""
    lines = log.splitlines()
    return [line for line in lines if " INFO " not in line][-LOG_LINES:] or lines[-LOG_LINES:]
