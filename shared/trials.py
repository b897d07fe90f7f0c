"""Where a trial may break the running tool on purpose; without FLEET_TRIALS nothing here acts.

FLEET_TRIALS names a folder. A file ``kill-at-NAME`` in it ends, as kill -9 does, the process
that next comes to ``kill_point("NAME")``: once, since the file goes first; a number N in the
file lets N passes go by before. A file ``clock-off-by`` holds the seconds by which the clock is
wrong. The start says so loudly, and a trial's folder is no place for records.
"""

import fcntl
import os
import signal
from datetime import timedelta
from pathlib import Path

FOLDER = Path(os.environ["FLEET_TRIALS"]) if os.environ.get("FLEET_TRIALS") else None


def kill_point(name: str) -> None:
    """End this process here if a trial asks for it."""
    if FOLDER is not None and _is_mine(FOLDER / f"kill-at-{name}"):
        os.kill(os.getpid(), signal.SIGKILL)


def _is_mine(armed: Path) -> bool:
    """Count down under a lock, and take the file away: of many processes one alone is ended."""
    try:
        with armed.open("r+") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            passes = int(file.read() or 0)
            if passes <= 0:
                armed.unlink()
                return True
            file.seek(0)
            # the blank covers the digit that 9 has less than 10
            file.write(f"{passes - 1} ")
    except (FileNotFoundError, ValueError):
        pass
    return False


def clock_is_off_by() -> timedelta:
    """Return how wrong a trial makes the clock, nothing without one."""
    if FOLDER is None:
        return timedelta()
    try:
        return timedelta(seconds=float((FOLDER / "clock-off-by").read_text()))
    except (FileNotFoundError, ValueError):
        return timedelta()
