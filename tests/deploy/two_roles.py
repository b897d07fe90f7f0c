"""A database with two roles for one test file, beside the tests' own and gone afterwards."""

import os
import subprocess
import sys
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from uuid import uuid4

import psycopg
from django.conf import settings
from psycopg import sql

from deploy.settings import ROOT

SCRIPT = ROOT / "deploy" / "postgresql" / "roles.sql"


@dataclass(frozen=True)
class TwoRoles:
    name: str
    owner: str
    app: str
    server: dict
    var: Path

    def connect(self, role=None):
        """Connect as a role, the superuser if none is named; each statement stands alone."""
        about = self.server | ({"user": role} if role else {})
        return psycopg.connect(dbname=self.name, autocommit=True, **about)

    def run_script(self):
        command = ["psql", "-X", "-q", "-h", self.server["host"], "-U", self.server["user"]]
        command += ["-d", self.name, "-v", f"owner={self.owner}", "-v", f"app={self.app}"]
        subprocess.run([*command, "-f", SCRIPT], check=True, capture_output=True)

    def manage(self, role, *words):
        """Run one of the tool's commands as a role; return how it ended and what it said."""
        address = f"postgresql://{role}@/{self.name}?host={self.server['host']}"
        bare = {name: value for name, value in os.environ.items() if not name.startswith("FLEET_")}
        bare["DJANGO_SETTINGS_MODULE"] = "deploy.settings"
        ran = subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=ROOT,
            env=bare | {"FLEET_VAR": str(self.var), "FLEET_DATABASE": address},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        return ran.returncode, ran.stdout


@contextmanager
def two_roles(var):
    """Make an empty database and names for two roles; drop them all at the end."""
    at, mark = settings.DATABASES["default"], uuid4().hex[:8]
    made = TwoRoles(
        name=f"fleet_{mark}",
        owner=f"owner_{mark}",
        app=f"app_{mark}",
        server={"host": at["HOST"], "user": at["USER"]},
        var=var,
    )
    name, owner, app = (sql.Identifier(each) for each in (made.name, made.owner, made.app))
    with psycopg.connect(dbname="postgres", autocommit=True, **made.server) as server:
        server.execute(sql.SQL("CREATE DATABASE {}").format(name))
        try:
            yield made
        finally:
            server.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(name))
            server.execute(sql.SQL("DROP ROLE IF EXISTS {}, {}").format(owner, app))
