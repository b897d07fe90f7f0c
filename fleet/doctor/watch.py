"""The newest signs for a monitor that comes by every few seconds: never old, never waited for long.

The look is made in a thread: a frozen database or disk would hold the answer up without end.
"""

import threading
import time

from django.db import connection

from fleet.doctor.asking import signs
from fleet.doctor.looks import DATABASE, LOOKS

KEPT_S = 15
# a monitor is answered within 3 s, whatever else the answer takes
WAITED_S = 2
SLOW_KEPT_S = 10 * 60
TOO_SLOW = "too-slow"

QUICK = tuple(look for look in LOOKS if not look.is_slow)
SLOW = tuple(look for look in LOOKS if look.is_slow)


class Watch:
    """Keeps what was seen last in this process, and looks again when that is old."""

    def __init__(self):
        self.lock = threading.Lock()
        self.quick, self.slow = [], []
        self.quick_s = self.slow_s = self.began_s = float("-inf")
        self.is_seen = threading.Event()
        self.thread = None

    def signs(self, at):
        """Return the signs, None when they take too long to see."""
        with self.lock:
            if time.monotonic() - self.quick_s < KEPT_S:
                return self.quick + self.slow
            if self.thread is None or not self.thread.is_alive():
                self._begin(at)
            is_seen, left_s = self.is_seen, self.began_s + WAITED_S - time.monotonic()
        return self.quick + self.slow if is_seen.wait(max(0, left_s)) else None

    def troubles(self, at) -> list[str]:
        """Return the codes of what calls for somebody."""
        found = self.signs(at)
        if found is None:
            return [TOO_SLOW]
        return [sign.code for sign in found if sign.is_trouble]

    def _begin(self, at):
        self.began_s, self.is_seen = time.monotonic(), threading.Event()
        self.thread = threading.Thread(target=self._look, args=(at, self.is_seen), daemon=True)
        self.thread.start()

    def _look(self, at, is_seen):
        try:
            self.quick, self.quick_s = signs(at, QUICK), time.monotonic()
            is_seen.set()
            if time.monotonic() - self.slow_s > SLOW_KEPT_S:
                found = signs(at, SLOW)
                self.slow = [sign for sign in found if sign.code != DATABASE.code]
                self.slow_s = time.monotonic()
        finally:
            connection.close()


watch = Watch()
