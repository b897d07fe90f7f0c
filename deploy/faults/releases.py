"""The release before this one: its code in a folder, and a database as it left it."""

import io
import re
import subprocess
import tarfile
from pathlib import Path

from deploy.faults.world import ROOT

MIGRATIONS = "*/migrations/0*.py"


class NoOlderRelease(Exception):
    """There is no git here, or not the commit that is wanted."""


def before_this(asked: str) -> str:
    """Return the commit that was asked for, else the one before migrations changed last."""
    return git("rev-parse", "--short", asked or f"{_changed_last()}^").decode().strip()


def _changed_last():
    return git("log", "-1", "--format=%H", "--", MIGRATIONS).decode().strip() or "HEAD"


def check_out(commit: str, folder: Path) -> Path:
    """Put a release's files into a folder, and return it."""
    with tarfile.open(fileobj=io.BytesIO(git("archive", commit))) as files:
        files.extractall(folder, filter="data")
    return folder


def git(*words: str) -> bytes:
    done = subprocess.run(["git", *words], cwd=ROOT, capture_output=True)
    if done.returncode:
        raise NoOlderRelease(f"git {words[0]}: {done.stderr.decode().strip()}; give --older COMMIT")
    return done.stdout


def ways_back(older: Path) -> dict[str, str]:
    """Return {app: the older release's last migration} of those that have gone on since."""
    now = last_migrations(ROOT)
    return {app: last for app, last in last_migrations(older).items() if now[app] != last}


def last_migrations(root: Path) -> dict[str, str]:
    """Return {app: its last migration} of a release."""
    found = {}
    for path in sorted(root.glob("*/migrations/0*.py")):
        found[path.parent.parent.name] = re.match(r"\d{4}\w*", path.stem).group()
    return found
