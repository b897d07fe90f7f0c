"""Taking a backup: the database first, then the files, so that no entry lacks its photo."""

import fcntl
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from deploy.keeping import parcel, snapshots
from deploy.keeping.manifest import Manifest
from deploy.keeping.places import Place
from deploy.keeping.refused import Refused
from shared import durable

FOLDER_MODE = 0o700
PART = ".part-"
PLAIN, SEALED = ".tar", ".sealed"
BEGINS, BEFORE = "carts-", "before-restore-"


@dataclass(frozen=True)
class Taken:
    """A backup that was read back whole."""

    file: Path
    read: parcel.Read


def take(
    place: Place, folder: Path, key: bytes | None, *, at: datetime, begins: str = BEGINS
) -> Taken:
    """Write a backup into a folder, and read it back before it gets its name.

    ``begins``: another beginning of its name keeps it apart from those that are taken daily.
    A crash at any point leaves a part under another name, which the next one takes away.
    Raises Refused.
    """
    folder.mkdir(mode=FOLDER_MODE, parents=True, exist_ok=True)
    name = f"{begins}{at:%Y%m%dT%H%M%SZ}{SEALED if key else PLAIN}"
    with _alone(folder), tempfile.TemporaryDirectory(prefix=PART, dir=folder) as scratch:
        part = Path(scratch) / name
        _write(place, part, key, at)
        read = parcel.read(part, key, lambda name, size: None)
        if (folder / name).exists():
            raise Refused(f"{folder / name} is there already: wait a second.")
        durable.move(part, folder / name)
    return Taken(folder / name, read)


@contextmanager
def _alone(folder):
    """Hold the folder, and take away parts of a backup that was killed."""
    with (folder / ".lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise Refused("Another backup is being taken there: wait for it.") from error
        for left in folder.glob(f"{PART}*"):
            _forget(left)
        yield


def _forget(left):
    for path in sorted(left.rglob("*"), reverse=True):
        path.unlink()
    left.rmdir()


def _write(place, part, key, at):
    with snapshots.copied(place, part.parent) as copy, _new(part) as file:
        with parcel.writing(file, key, at=at) as out:
            with copy.file.open("rb") as content:
                out.add(parcel.DATABASE, content, os.fstat(content.fileno()).st_size)
            there = set(_add_media(out, place.media))
            if key:
                _add_secrets(out, place)
            said = _manifest(place, copy, out, sorted(copy.named - there), at)
            out.add_bytes(parcel.MANIFEST, said.as_json())
        file.flush()
        os.fsync(file.fileno())
        # reading it back is to come from the disk
        os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def _new(part):
    return open(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, parcel.MODE), "wb")


def _add_media(out, media: Path) -> Iterator[str]:
    """Add every file, and yield its name."""
    for path in _files(media):
        try:
            file = path.open("rb")
        except FileNotFoundError:
            # an import dropped meanwhile
            continue
        name = path.relative_to(media).as_posix()
        with file:
            out.add(parcel.MEDIA + name, file, os.fstat(file.fileno()).st_size)
        yield name


def _files(folder: Path) -> Iterator[Path]:
    """Yield what stands whole: names that begin with a dot are being written."""
    for here, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        yield from (Path(here) / name for name in sorted(names) if not name.startswith("."))


def _add_secrets(out, place):
    for name in parcel.SECRET_FILES:
        path = place.secret_file(name)
        if path.is_file():
            out.add_bytes(parcel.SECRETS + name, path.read_bytes())


def _manifest(place, copy, out, lost, at):
    return Manifest(
        at=at.isoformat(),
        kind=place.kind,
        version=copy.version,
        migrations=copy.migrations,
        tables=copy.tables,
        journals=copy.journals,
        files=out.filed,
        lost=lost,
    )


def all_in(folder: Path) -> list[Path]:
    """Return the backups in a folder, the newest first; each was read back when it was taken."""
    found = [path for path in folder.glob(f"{BEGINS}*Z.*") if path.suffix in (PLAIN, SEALED)]
    return sorted(found, key=lambda path: path.name, reverse=True)


def keep_newest(folder: Path, count: int) -> list[Path]:
    """Delete all but the newest backups; return those that are gone."""
    older = all_in(folder)[count:]
    for path in older:
        path.unlink()
    return older
