"""Putting an opened backup in its place: the files first, then the database, then migrate."""

import os
import shutil
import subprocess
import sys
from datetime import datetime
from pathlib import Path

from django.db import DatabaseError, connections

from deploy.keeping import contents, parcel, programs, snapshots
from deploy.keeping.opening import SCRIPT, Opened
from deploy.keeping.places import SQLITE, Place, connected, environ_of
from deploy.keeping.refused import Refused
from deploy.settings import ROOT
from shared import durable
from shared.keys import FOLDER_MODE

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
    aside = place.file.with_name(f"{place.file.name}.until-{at:%Y%m%dT%H%M%SZ}")
    for ending in ("", *LEFT_BESIDE):
        path = place.file.with_name(place.file.name + ending)
        if path.exists():
            durable.move(path, aside.with_name(aside.name + ending))
    return aside


def put(found: Opened, place: Place, *, with_secrets: bool) -> list[str]:
    """Put a backup in its place and migrate it; return what is to be told of it.

    A crash before the database is put leaves the old one with a few files more.
    """
    script = _script(found, place)
    _put_media(found, place.media)
    told = _put_secrets(found, place) if with_secrets else []
    connections.close_all()
    if place.kind == SQLITE:
        _put_sqlite(found.database, place.file)
    else:
        programs.do(place, *script)
    migrate(place)
    return told


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


def _put_media(found, media):
    for name in [one.path for one in found.manifest.files if one.path.startswith(parcel.MEDIA)]:
        target = media / name.removeprefix(parcel.MEDIA)
        target.parent.mkdir(parents=True, exist_ok=True)
        os.replace(found.folder / name, target)
    os.sync()


def _put_secrets(found, place):
    """Put back keys where there are none: one that is there may be newer."""
    told = []
    for path in sorted((found.folder / parcel.SECRETS).glob("*")):
        target = place.secret if path.name == place.secret.name else place.keys / path.name
        if not target.exists():
            target.parent.mkdir(mode=FOLDER_MODE, parents=True, exist_ok=True)
            durable.make(target, path.read_bytes())
        elif target.read_bytes() != path.read_bytes():
            told.append(f"{target} is another than in the backup, and stays as it is.")
    return told


def _put_sqlite(staged, file):
    part = file.with_name(f".{file.name}.part")
    file.parent.mkdir(parents=True, exist_ok=True)
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
