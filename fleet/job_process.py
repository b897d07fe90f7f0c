"""A job's own process: started without waiting for it, and bound from within."""

import resource
import signal
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

from django.utils.translation import gettext as _

from fleet.jobs import Allowance, Failed

MANAGE = Path(__file__).resolve().parent.parent / "manage.py"
# past it the kernel ends a process that no longer heeds its alarm
GRACE_S = 60

_children: list[subprocess.Popen] = []


def start(code, pk):
    """Start the process of a row; it is told to end with its parent's group."""
    # a process that ended stays a zombie until it is asked
    _children[:] = [child for child in _children if child.poll() is None]
    command = [sys.executable, str(MANAGE), "run_job", code, str(pk)]
    # standard error, where the log goes, stays the parent's
    quiet = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL}
    child = subprocess.Popen(command, cwd=MANAGE.parent, **quiet)
    _children.append(child)
    return child


@contextmanager
def bound(allowance: Allowance):
    """Hold this process to its allowance: Failed at the alarm, MemoryError past the memory."""
    resource.setrlimit(resource.RLIMIT_AS, (allowance.memory_bytes,) * 2)
    most_cpu_s = allowance.wall_s + GRACE_S
    resource.setrlimit(resource.RLIMIT_CPU, (most_cpu_s, most_cpu_s))
    signal.signal(signal.SIGALRM, _too_long)
    signal.alarm(allowance.wall_s)
    try:
        yield
    finally:
        signal.alarm(0)


def _too_long(_number, _frame):
    raise Failed(_("The work took longer than it may."))
