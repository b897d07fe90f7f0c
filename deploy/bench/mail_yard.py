"""A mail server, a broker and workers for a line of the benchmark."""

import sys
import tempfile
import time
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path

import keeper
from servers import Redis, free_port

from deploy.bench.child import ROOT, environ_of
from deploy.bench.taker import Taker

WORKERS = 2
WAIT_S = 120
LOOK_EVERY_S = 0.1


class MailYard:
    """Each a process of its own on the present scale, all of them gone at the end.

    The workers' clock begins at a moment.
    """

    def __init__(self, world, at):
        self.world, self.at, self.stack = world, at, ExitStack()
        self.looked_at = 0

    def __enter__(self):
        with self.stack:
            folder = tempfile.TemporaryDirectory(dir=self.world.folder)
            self._start(Path(self.stack.enter_context(folder)))
            # kept open: closed where starting fails alone
            self.stack = self.stack.pop_all()
        return self

    def __exit__(self, *raised):
        self.stack.close()

    def _start(self, folder):
        self.taker, broker = Taker(folder, free_port()), Redis(folder, free_port())
        for server in (self.taker, broker):
            server.start()
            self.stack.callback(server.kill)
        off_by = self.at - datetime.now(UTC)
        (folder / "clock-off-by").write_text(str(off_by.total_seconds()))
        self.environ = {
            "FLEET_SMTP": f"smtp://127.0.0.1:{self.taker.port}",
            "FLEET_BROKER": broker.address,
            "FLEET_TRIALS": str(folder),
        }
        worker = _worker(environ_of(self.world, **self.environ))
        worker.start()
        self.stack.callback(worker.finish, 0)

    def last_taken_s(self, count: int) -> float:
        """Return when the last of so many mails was taken, the only ones since the last look."""
        taken = self.taker.taken()[self.looked_at :]
        self.looked_at += len(taken)
        if len(taken) != count:
            raise RuntimeError(f"{len(taken)} mails came, not {count}")
        return max(one.at_s for one in taken)

    def wait_until(self, is_so) -> None:
        until_s = time.monotonic() + WAIT_S
        while not is_so():
            if time.monotonic() > until_s:
                raise RuntimeError("the workers did not mail all that waits")
            time.sleep(LOOK_EVERY_S)


def _worker(environ):
    """Return the worker as the tool starts it, with a process for each of those measured."""
    programs = keeper.processes(Path(sys.executable), ROOT, environ, ("", 0))
    (worker,) = (one for one in programs if one.name == "worker")
    worker.command = [*worker.command, "--concurrency", str(WORKERS), "--loglevel", "error"]
    return worker
