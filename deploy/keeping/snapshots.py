"""A copy of a live database as it stood at one moment, with what it holds at that very moment."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.db import DatabaseError, OperationalError

from deploy.databases import database
from deploy.keeping import contents, programs
from deploy.keeping.places import SQLITE, Place, connected
from deploy.keeping.refused import Damaged, Refused


@dataclass(frozen=True)
class Snapshot:
    """``file``: the copy; ``named``: files of the media that its rows name."""

    file: Path
    version: str
    migrations: list
    tables: dict[str, int]
    journals: list
    named: set[str]


@contextmanager
def copied(place: Place, folder: Path) -> Iterator[Snapshot]:
    """Copy a database into a folder. Raises Refused where there is none."""
    copy = _sqlite_copied if place.kind == SQLITE else _postgresql_copied
    with connected(place.database) as source, copy(place, source, folder / "database") as found:
        yield found


@contextmanager
def _sqlite_copied(place, source, to):
    if not place.is_there:
        raise Refused(f"{place} is not there: nothing to back up.")
    with _damage_told():
        source.ensure_connection()
        _copy_sqlite(source.connection, to)
    with connected(sqlite_file(to)) as opened:
        with _damage_told():
            found = _asked(opened, to, sqlite3.sqlite_version)
        yield found


def _copy_sqlite(source, to):
    # never the file itself: a copy of a live one is stale or torn
    with closing(sqlite3.connect(to)) as copy:
        source.backup(copy)
        # a copy marked for write-ahead logging would not be one file
        copy.execute("PRAGMA journal_mode=DELETE")
        _refuse_damaged(copy)


def _refuse_damaged(opened):
    """Refuse a file of SQLite whose pages do not fit together."""
    found = [line for (line,) in opened.execute("PRAGMA quick_check(1)")]
    if found != ["ok"]:
        raise Damaged(f"The database is damaged: {found[0]}. Put back a backup of before.")


@contextmanager
def _damage_told():
    """Tell a file that is no database, or a torn one, from one in use and from a full disk."""
    try:
        yield
    except (sqlite3.OperationalError, OperationalError) as error:
        raise Refused(f"The database cannot be copied: {error}.") from error
    except (sqlite3.DatabaseError, DatabaseError) as error:
        raise Damaged(f"The database cannot be read: {error}.") from error


def sqlite_file(path: Path) -> dict:
    """Return Django's settings for a file of SQLite that nobody else has open."""
    return database(None, path.parent) | {"NAME": str(path), "OPTIONS": {}}


@contextmanager
def _postgresql_copied(place, source, to):
    version = server_version(source)
    programs.refuse_older("pg_dump", version)
    with source.cursor() as cursor:
        cursor.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        cursor.execute("SELECT pg_export_snapshot(), current_schema()")
        snapshot, schema = cursor.fetchone()
        found = _asked(source, to, str(version))
        programs.dump(place, snapshot, schema, to)
        cursor.execute("COMMIT")
    yield found


def server_version(opened) -> int:
    """Return the main number of a PostgreSQL server's version."""
    with opened.cursor() as cursor:
        cursor.execute("SHOW server_version_num")
        return int(cursor.fetchone()[0]) // 10_000


def _asked(opened, file, version):
    tables = contents.tables_of(opened)
    if "django_migrations" not in tables:
        raise Refused("The database holds nothing of the tool: nothing to back up.")
    return Snapshot(
        file,
        version,
        contents.migrations_of(opened),
        tables,
        contents.journals_of(opened),
        contents.named_files(opened),
    )
