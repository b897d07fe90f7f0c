"""Opening a backup beside where it is to go: all of it is looked at before anything is touched."""

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from django.db import DatabaseError
from django.db.migrations.loader import MigrationLoader

from deploy.keeping import contents, parcel, programs, snapshots
from deploy.keeping.manifest import Manifest
from deploy.keeping.places import SQLITE, Place, connected
from deploy.keeping.refused import Refused

SCRATCH, SCRIPT = ".restoring-", "dump.sql"


@dataclass(frozen=True)
class Opened:
    """A backup whose parts lie in a folder, each as its manifest says."""

    folder: Path
    manifest: Manifest

    @property
    def database(self) -> Path:
        return self.folder / parcel.DATABASE


@contextmanager
def opened(path: Path, key: bytes | None, place: Place) -> Iterator[Opened]:
    """Unpack a backup on the disk of the place's files. Raises Refused."""
    place.media.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=SCRATCH, dir=place.media) as scratch:
        folder = Path(scratch)
        yield Opened(folder, _unpacked(path, key, folder, place))


def _unpacked(path, key, folder, place):
    try:
        whole = path.stat().st_size
        refuse_small_disk(folder.parent, whole)
        said = parcel.read(path, key, partial(_target, folder, whole)).manifest
        # one call for thousands of files
        os.sync()
    except OSError as error:
        raise Refused(_said_of(error, path, folder)) from error
    _refuse_other_kind(said, place)
    refuse_unknown_migrations(said)
    if said.kind == SQLITE:
        _compare_sqlite(folder / parcel.DATABASE, said)
    else:
        programs.as_script(place, folder / parcel.DATABASE, folder / SCRIPT)
        _refuse_other_counts(programs.rows_in(folder / SCRIPT), said)
    return said


def _target(folder, whole, name, size):
    if name == parcel.DATABASE:
        # unpacked, and once more beside the old one
        refuse_small_disk(folder.parent, whole + size)
    return parcel.within(folder, name)


def refuse_small_disk(folder: Path, wanted: int) -> None:
    free = shutil.disk_usage(folder).free
    if free < wanted:
        raise Refused(
            f"The disk is too small: {wanted:,} bytes are needed at {folder} and {free:,} "
            "are free. Make room, or give another folder with --into."
        )


def _said_of(error, path, folder):
    if error.errno == errno.ENOSPC:
        return f"The disk of {folder.parent} is full: make room, and restore again."
    return f"Cannot read {path}: {error.strerror}."


def _refuse_other_kind(said, place):
    if said.kind != place.kind:
        raise Refused(
            f"The backup is of {said.kind} and {place} is of {place.kind}: set FLEET_DATABASE, "
            "or give --into, so that they are alike."
        )


def refuse_unknown_migrations(said) -> None:
    """Refuse a database that a later release of the tool, or of a library, has changed."""
    known = set(MigrationLoader(None).disk_migrations)
    for app, name in sorted(set(said.migrations) - known):
        raise Refused(
            f"The backup is of a later release: this one does not know {app} {name}. "
            "Update the tool, then restore."
        )


def _compare_sqlite(file, said):
    try:
        with connected(snapshots.sqlite_file(file)) as found:
            compare(found, said)
    except DatabaseError as error:
        raise Refused(f"The database in the backup cannot be read: {error}.") from error


def compare(found, said: Manifest) -> None:
    """Refuse a database that does not hold what the manifest counted."""
    _refuse_other_counts(contents.tables_of(found), said)
    for journal, other in zip(contents.journals_of(found), said.journals, strict=True):
        if journal != other:
            raise Refused(
                f"The journal of site {other.slug} is not the one that the backup lists: "
                "take an older backup."
            )


def _refuse_other_counts(rows, said):
    for table in sorted(rows.keys() | said.tables.keys()):
        if rows.get(table) != said.tables.get(table):
            raise Refused(
                f"Table {table} has {rows.get(table, 'no')} rows and the backup's list says "
                f"{said.tables.get(table, 'none')}: take an older backup."
            )
