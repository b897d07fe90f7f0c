"""The most memory that a function needs, in a process of its own on the same database."""

import os
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

from django.db import connection

ROOT = Path(__file__).resolve().parents[2]
KIB_IN_MIB = 1024


def peak_mib(world, place: str, *words: str) -> float:
    """Run ``module:function`` with words on the present scale; return its peak in MiB.

    Of the same process with nothing called, ``peak_mib(world, "")`` is the base.
    """
    return float(ended(started(world, place, *words)).splitlines()[-1])


def started(world, place: str, *words: str, **environ: str) -> subprocess.Popen:
    """Start a process that calls ``module:function`` with words on the present scale."""
    command = [sys.executable, "manage.py", "bench", "--inside", place, *words]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    return subprocess.Popen(command, cwd=ROOT, env=environ_of(world, **environ), **pipes)


def environ_of(world, **environ: str) -> dict[str, str]:
    """Return the environment of a process on the present scale, without the developer's own."""
    own = {
        "FLEET_DATABASE": world.address,
        "FLEET_VAR": str(world.folder / "var"),
        "DJANGO_SETTINGS_MODULE": "deploy.settings",
        **environ,
    }
    bare = {name: said for name, said in os.environ.items() if not name.startswith("FLEET_")}
    return bare | own


def ended(process: subprocess.Popen) -> str:
    """Wait for such a process; return what it printed. Raises RuntimeError where it failed."""
    said, trouble = process.communicate()
    if process.returncode:
        raise RuntimeError(f"a process ended with {process.returncode}: {trouble[-2000:]}")
    return said


def call(place: str, *words: str) -> float:
    """Call ``module:function`` with words; return the most memory used so far, in MiB."""
    connection.ensure_connection()
    if place:
        module, _, function = place.partition(":")
        getattr(import_module(module), function)(*words)
    # ru_maxrss would begin with what the process that started this one used
    peak = re.search(r"^VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text(), re.MULTILINE)
    return int(peak[1]) / KIB_IN_MIB
