"""Putting an opened backup in its place: the files first, then the database, then migrate."""

import os
import shutil
import subprocess
import sys
from datetime import datetime
from pathlib import Path

from django.db import DatabaseError, connections

from deploy.keeping import contents, parcel, programs, snapshots
from deploy.keeping.opening import SCRIPT, Opened, refuse_small_disk
from deploy.keeping.places import SQLITE, Place, connected, environ_of
from deploy.keeping.refused import Refused
from deploy.settings import ROOT
from shared import durable

# what SQLite would else take for the end of another database
LEFT_BESIDE = ("-wal", "-shm", "-journal")

DROP = """
DO $$ DECLARE one record; BEGIN
  FOR one IN SELECT format('%I.%I', schemaname, tablename) AS name FROM pg_tables
    WHERE schemaname = current_schema() LOOP EXECUTE 'DROP TABLE ' || one.name || ' CASCADE';
  END LOOP;
  FOR one IN SELECT oid::regprocedure AS name FROM pg_proc
    WHERE pronamespace = current_schema()::regnamespace AND proname = 'fleet_insert_only'
    LOOP EXECUTE 'DROP FUNCTION ' || one.name || ' CASCADE'; END LOOP;
END $$;
"""
COUNT = """
DO $$ BEGIN IF (SELECT count(*) FROM "{table}") <> {rows}
  THEN RAISE EXCEPTION 'table {table} has not the rows that the backup lists'; END IF; END $$;
"""


def is_empty(place: Place) -> bool:
    """Say whether nothing is recorded at a place; what cannot be read is not empty."""
    if not place.is_there:
        return True
    try:
        with connected(place.database) as found:
            return contents.is_empty(contents.tables_of(found))
    except DatabaseError as error:
        if place.kind == SQLITE:
            return False
        raise Refused(f"{place} cannot be reached: {f'{error}'.strip()}") from error


def refuse_weak(place: Place, version: str) -> None:
    """Refuse a PostgreSQL that is older than the backup's, or a role that may not make tables."""
    if place.kind == SQLITE:
        return
    with connected(place.database) as found, found.cursor() as cursor:
        server = snapshots.server_version(found)
        cursor.execute("SELECT has_schema_privilege(current_schema(), 'CREATE'), current_user")
        may_make, role = cursor.fetchone()
    if server < int(version):
        raise Refused(
            f"The backup is of PostgreSQL {version} and the server is {server}: use a newer one."
        )
    if not may_make:
        raise Refused(f"Role {role} may make no tables there: restore as the database's owner.")
    for name in ("pg_restore", "psql"):
        programs.refuse_older(name, int(version))


def set_aside(place: Place, at: datetime) -> Path:
    """Move a file of SQLite that cannot be read out of the way, with what belongs to it."""
    aside = aside_of(place.file, at)
    for ending in ("", *LEFT_BESIDE):
        path = place.file.with_name(place.file.name + ending)
        if path.exists():
            durable.move(path, aside.with_name(aside.name + ending))
    return aside


def aside_of(path: Path, at: datetime) -> Path:
    return path.with_name(f"{path.name}.until-{at:%Y%m%dT%H%M%SZ}")


def put(found: Opened, place: Place) -> None:
    """Put a backup in its place, still as it was: secrets and ``migrate`` come after it.

    A crash before the database is put leaves the old one with a few files more.
    """
    script = _script(found, place)
    targets = _media_targets(found, place.media)
    if place.kind == SQLITE:
        place.file.parent.mkdir(parents=True, exist_ok=True)
        refuse_small_disk(place.file.parent, found.database.stat().st_size)
    _put_media(targets)
    connections.close_all()
    if place.kind == SQLITE:
        _put_sqlite(found.database, place.file)
    else:
        programs.do(place, *script)


def _script(found, place):
    """Return the SQL that puts a dump in place, with what is run before and after it."""
    if place.kind == SQLITE:
        return []
    first, dump, last = (found.folder / name for name in ("drop.sql", SCRIPT, "count.sql"))
    first.write_text(DROP)
    counts = [COUNT.format(table=table, rows=rows) for table, rows in found.manifest.tables.items()]
    # the dump leaves no path to look along
    last.write_text("RESET search_path;" + "".join(counts))
    return [first, dump, last]


def _media_targets(found, media):
    """Return from where to where each file goes, all of them known before one is put."""
    names = [one.path for one in found.manifest.files if one.path.startswith(parcel.MEDIA)]
    return [
        (found.folder / name, parcel.within(media, name.removeprefix(parcel.MEDIA)))
        for name in names
    ]


def _put_media(targets):
    for path, target in targets:
        target.parent.mkdir(parents=True, exist_ok=True)
        os.replace(path, target)
    os.sync()


def _put_sqlite(staged, file):
    part = file.with_name(f".{file.name}.part")
    shutil.copyfile(staged, part)
    part.chmod(parcel.MODE)
    os.sync()
    for ending in LEFT_BESIDE:
        file.with_name(file.name + ending).unlink(missing_ok=True)
    durable.move(part, file)


def migrate(place: Place) -> None:
    """Bring a database to this release, with its triggers."""
    command(place, "migrate", "--verbosity=0")


def command(place: Place, *words: str) -> str:
    """Run a command of the tool at a place. Raises Refused with its last line."""
    done = subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=ROOT,
        env=environ_of(place),
        capture_output=True,
        text=True,
    )
    if done.returncode:
        lines = (done.stderr.strip() or done.stdout.strip()).splitlines()
        raise Refused(f"manage.py {words[0]} failed: {lines[-1] if lines else ''}")
    return done.stdout
