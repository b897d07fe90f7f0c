"""The release before this one: its code in a folder, and a database that it made itself."""

import io
import subprocess
import sys
import tarfile
from pathlib import Path

from deploy.faults import yard
from deploy.faults.telling import NotTried
from deploy.faults.world import ROOT

# one that stands for others changes no table
STEPS = ("*/migrations/0*.py", ":(exclude)*_squashed_*")
# the yard's module lies in this release; what it imports is the older one's
FOUND = """
import runpy, sys, django
django.setup()
from shared import clock
runpy.run_path(sys.argv[1])["make"](clock.now(), carts=int(sys.argv[2]))
"""


def before_this(asked: str) -> str:
    """Return the commit that was asked for, else the one before a step was added last.

    Raises NotTried where nobody asked and there is no history, CalledProcessError when the
    commit asked for is not there.
    """
    if asked:
        return git("rev-parse", "--short", f"{asked}^{{commit}}").decode().strip()
    try:
        added = git("log", "-1", "--diff-filter=A", "--format=%H", "--", *STEPS).decode().strip()
        return git("rev-parse", "--short", "--verify", f"{added}^").decode().strip()
    except (OSError, subprocess.CalledProcessError) as lacking:
        raise NotTried("no git history here has a release before; --older names one") from lacking


def check_out(commit: str, folder: Path) -> Path:
    """Put a release's files into a folder, and return it."""
    with tarfile.open(fileobj=io.BytesIO(git("archive", commit))) as files:
        files.extractall(folder, filter="data")
    return folder


def git(*words: str) -> bytes:
    return subprocess.run(["git", *words], cwd=ROOT, stdout=subprocess.PIPE, check=True).stdout


def found_place(older: Path, environ: dict[str, str], carts: int) -> None:
    """Have the older release migrate an empty database, and make the yard in it."""
    settings = {"DJANGO_SETTINGS_MODULE": "deploy.settings"}
    for words in (
        ["manage.py", "migrate", "--verbosity", "0"],
        ["-c", FOUND, yard.__file__, str(carts)],
    ):
        subprocess.run([sys.executable, *words], cwd=older, env=environ | settings, check=True)
