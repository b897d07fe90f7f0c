"""What the start refuses of a database that could lose what it said it had kept."""

import sqlite3
from pathlib import Path

from django.core.checks import Error
from django.db import DatabaseError, connections

from deploy import sqlite

# each is on by default, and off loses what was acknowledged when the power goes
# (postgresql.org/docs/15/runtime-config-wal.html)
MUST_BE_ON = ("fsync", "full_page_writes", "synchronous_commit")
# where Debian's packages keep a server's databases
DEBIAN_PLACE = Path("/var/lib/postgresql")
LOCAL = ("", "localhost", "127.0.0.1", "::1")


def check_database(app_configs=None, databases=None, **kwargs):
    """Ask each database that the check was given; one that cannot be asked is refused too."""
    for alias in databases or []:
        try:
            yield from _faults_of(connections[alias])
        except DatabaseError as error:
            first = str(error).strip().splitlines()[0]
            yield Error(f"the database cannot be asked: {first}", id="deploy.E011")


def place(database: dict) -> Path | None:
    """Return a path on the database's own volume, None if it is elsewhere or in memory."""
    is_sqlite = "sqlite" in database["ENGINE"]
    path = Path(database["NAME"]) if is_sqlite else DEBIAN_PLACE
    is_here = is_sqlite or database["HOST"] in LOCAL or database["HOST"].startswith("/")
    return path if is_here and path.exists() else None


def _faults_of(connection):
    if connection.vendor == "sqlite":
        return _sqlite_faults(connection)
    return _postgresql_faults(connection)


def _sqlite_faults(connection):
    force = sqlite.in_force(connection)
    if force.journal == "wal" and not sqlite.wal_is_sound(sqlite3.sqlite_version_info):
        line = f"SQLite {sqlite3.sqlite_version} can lose commits in WAL mode: stop whatever else"
        yield Error(f"{line} has the database open, then start again", id="deploy.E012")
    if not force.survives_power_cut:
        line = f"SQLite runs with synchronous={force.synchronous}, which a power cut undoes"
        yield Error(f"{line}: take that out of its settings", id="deploy.E013")


def _postgresql_faults(connection):
    major = connection.pg_version // 10_000
    if major < 15:
        line = f"PostgreSQL {major} is too old: bring it to 15 or later"
        yield Error(line, id="deploy.E014")
    for name in MUST_BE_ON:
        with connection.cursor() as cursor:
            cursor.execute(f"SHOW {name}")
            (value,) = cursor.fetchone()
        if value == "off":
            line = f"PostgreSQL runs with {name}=off, which loses what was recorded: set it to on"
            yield Error(line, id="deploy.E015")
