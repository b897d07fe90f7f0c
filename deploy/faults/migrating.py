"""Migrations killed on their way, each on a copy of a database of the release before."""

import shutil
import subprocess
import sys
import time
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psycopg
from django.db import ConnectionHandler, connections

from deploy.faults.place import SQLITE
from deploy.faults.world import ROOT
from shared import triggers

MIGRATE = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
# the first part only loads the code
FROM_SHARE = 0.3
TRIES_A_KILL = 5
TRIES = 10
GAVE_WAY = "a table was in use"


@dataclass
class Migrated:
    kills: int = 0
    reruns_ok: int = 0
    triggers_gone: int = 0


class Copies:
    """Databases beside the run's own, each made as a copy of another."""

    def __init__(self, world):
        self.place, self.is_sqlite = world.place, world.place.database == SQLITE

    def empty(self, name: str) -> None:
        """Leave a database without any table."""
        if self.is_sqlite:
            for left in self._path(name).parent.glob(f"{name}.sqlite3*"):
                left.unlink()
            return
        with psycopg.connect(self._address(name), autocommit=True) as server:
            server.execute("DROP SCHEMA public CASCADE")
            server.execute("CREATE SCHEMA public")

    def copy(self, source: str, name: str) -> None:
        if self.is_sqlite:
            for left in self._path(name).parent.glob(f"{name}.sqlite3-*"):
                left.unlink()
            shutil.copy(self._path(source), self._path(name))
            return
        with psycopg.connect(self._address("template1"), autocommit=True) as server:
            server.execute(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')
            server.execute(f'CREATE DATABASE "{name}" TEMPLATE "{source}"')

    @property
    def own(self) -> str:
        return "fleet" if self.is_sqlite else "postgres"

    def environ(self, name: str) -> dict[str, str]:
        address = f"sqlite://{self._path(name)}" if self.is_sqlite else self._address(name)
        return self.place.environ | {"FLEET_DATABASE": address}

    def triggers_gone(self, name: str) -> int:
        """Count the triggers that a database lacks."""
        with self._connected(name) as other:
            return len(triggers.missing(other))

    def tables(self, name: str) -> set[tuple]:
        """Return each table's columns and constraints, wherever in it they stand."""
        with self._connected(name) as other, other.cursor() as cursor:
            look = other.introspection
            return {
                (table, repr(one))
                for table in look.table_names(cursor)
                for one in (
                    *look.get_table_description(cursor, table),
                    *look.get_constraints(cursor, table).values(),
                )
            }

    @contextmanager
    def _connected(self, name):
        named = str(self._path(name)) if self.is_sqlite else name
        settings = connections.settings["default"] | {"NAME": named}
        other = ConnectionHandler({"default": settings})["default"]
        try:
            yield other
        finally:
            other.close()

    def _path(self, name):
        return Path(self.place.base) / "var" / f"{name}.sqlite3"

    def _address(self, name):
        return self.place.postgresql.address.replace("/postgres?", f"/{name}?")


def migrate_in_use(copies) -> int:
    """Migrate the run's own database; return how often it gave way to those who use it."""
    for gave_way in range(TRIES):
        migrated = subprocess.run(
            MIGRATE, cwd=ROOT, env=copies.environ(copies.own), stderr=subprocess.PIPE, text=True
        )
        if not migrated.returncode:
            return gave_way
        if GAVE_WAY not in migrated.stderr:
            raise RuntimeError(migrated.stderr)
    raise TimeoutError(f"migrate gave way {TRIES} times")


def kill_so_often(world, copies: Copies, kills: int) -> Migrated:
    """Migrate copies of the database "older": killed at some moment, run again."""
    found = Migrated()
    copies.copy("older", "trial")
    whole_s = _migrate(copies, "trial")
    for _ in range(TRIES_A_KILL * kills):
        if found.kills == kills:
            break
        copies.copy("older", "trial")
        moment_s = world.random.uniform(FROM_SHARE, 1) * whole_s
        if _is_killed(copies, moment_s):
            found.kills += 1
            _migrate(copies, "trial")
            found.reruns_ok += 1
            found.triggers_gone += copies.triggers_gone("trial")
    return found


def _migrate(copies, name) -> float:
    """Migrate to the end; return how long that took. Raises CalledProcessError."""
    began_s = time.monotonic()
    subprocess.run(MIGRATE, cwd=ROOT, env=copies.environ(name), check=True)
    return time.monotonic() - began_s


def _is_killed(copies, moment_s) -> bool:
    """Kill a migration at a moment; say whether it was still on its way."""
    migrating = subprocess.Popen(MIGRATE, cwd=ROOT, env=copies.environ("trial"))
    try:
        migrating.wait(moment_s)
    except subprocess.TimeoutExpired:
        migrating.kill()
        migrating.wait()
        return True
    return False
