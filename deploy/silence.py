"""A worker that is handed nothing any more ends, so that its supervisor starts it anew.

After its broker went away a worker may listen for ever to a connection that is dead (Celery's
issues 8091 and 10205). Beat rings each minute: silence means that, or that beat is away.
"""

import logging
import os
import signal
import threading
import time
from collections.abc import Callable

import billiard
from django.conf import settings

log = logging.getLogger(__name__)

# longer than any task may take, and three rings of beat
LEAST_S = 180
RINGS = 3
LOOK_EVERY_S = 5
GRACE_S = 20


class Silence:
    """How long nothing was heard; ``end`` is called once when that is too long."""

    def __init__(self, limit_s: float, end: Callable[[], None], now=time.monotonic):
        self.limit_s, self.end, self.now = limit_s, end, now
        self.heard_at_s = now()

    def break_off(self, **told) -> None:
        self.heard_at_s = self.now()

    def is_too_long(self) -> bool:
        return self.now() - self.heard_at_s > self.limit_s

    def listen(self) -> None:
        """Wait in the background until it is too long."""
        threading.Thread(target=self._wait, name="silence", daemon=True).start()

    def _wait(self):
        while not self.is_too_long():
            time.sleep(LOOK_EVERY_S)
        self.end()


def limit_s() -> float:
    return max(LEAST_S, RINGS * settings.SWEEP_EVERY_S)


def end_worker() -> None:
    """Ask this worker to stop; end it and its children when it does not heed."""
    log.error("no task came for %.0f s: the worker ends, to be started again", limit_s())
    os.kill(os.getpid(), signal.SIGTERM)
    time.sleep(GRACE_S)
    for child in billiard.active_children():
        os.kill(child.pid, signal.SIGKILL)
    os._exit(1)
