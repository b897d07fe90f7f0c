"""Files of the media that no row names: of a page that was never saved, or a process that ended.

Files come before rows, so a young file may still get its row, and an old one may be found again
by the same upload: that makes it young (``shared.durable.find_again``). A file is therefore set
aside before its age is asked for the last time.
"""

import os
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from deploy.keeping import contents
from deploy.keeping.refused import Refused
from shared import outside
from shared.models import JournalHead, Site

# a page is saved, or its row given up, long before
OLD = timedelta(hours=24)
ASIDE = ".leftover-"


def found(connection, media: Path, *, at: datetime) -> list[Path]:
    """Return the old files that no row names. Raises Refused where rows may be missing."""
    _refuse_older()
    _put_back_aside(media)
    old = [path for path in _files(media) if _is_old(path, at)]
    # rows are read after the ages: what was young then is not among them
    named = contents.named_files(connection)
    return sorted(path for path in old if path.relative_to(media).as_posix() not in named)


def delete(path: Path, *, at: datetime) -> int:
    """Delete a file unless it was found again since; return its bytes, 0 if it stays."""
    aside = path.with_name(ASIDE + path.name)
    try:
        os.rename(path, aside)
    except FileNotFoundError:
        return 0
    if not _is_old(aside, at):
        _put_back(aside, path)
        return 0
    size = aside.stat().st_size
    aside.unlink()
    return size


def _refuse_older():
    """Refuse where rows are yet to come back: their photos lie here already."""
    known = {str(pk) for pk in Site.objects.values_list("pk", flat=True)}
    kept = {path.stem for path in outside.made_folder().glob("*.txt") if "." not in path.stem}
    if kept - known:
        raise Refused("The database lacks a site that has a checkpoint: is it the right one?")
    for head in JournalHead.objects.select_related("site"):
        if statement := outside.is_behind(head):
            raise Refused(f"The database is older: {outside.said_of(head, statement)}.")


def _files(media: Path) -> Iterator[Path]:
    for folder in contents.FOLDERS:
        yield from (path for path in (media / folder).rglob("*") if path.is_file())


def _is_old(path: Path, at: datetime) -> bool:
    try:
        return at.timestamp() - path.stat().st_mtime > OLD.total_seconds()
    except FileNotFoundError:
        return False


def _put_back_aside(media: Path) -> None:
    """Put back what a run that ended midway had set aside."""
    for aside in [path for path in _files(media) if path.name.startswith(ASIDE)]:
        _put_back(aside, aside.with_name(aside.name.removeprefix(ASIDE)))


def _put_back(aside: Path, path: Path) -> None:
    # a file that came meanwhile is the same: its name says what it holds
    if path.exists():
        aside.unlink()
    else:
        os.rename(aside, path)
