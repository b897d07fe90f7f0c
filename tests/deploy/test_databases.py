"""Pages give up on a database that hangs, workers do not, and no worker keeps a connection."""

import contextlib
import os
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.db import OperationalError, connection
from django.db.backends.postgresql.base import DatabaseWrapper

from deploy import databases
from deploy.databases import database
from tests.deploy.test_settings import ROOT, read_settings

PARTS = urlsplit("postgresql://u@db.example.org/fleet?sslmode=verify-full")


def test_a_worker_keeps_no_connection_and_waits_as_long_as_it_takes():
    read = database(PARTS, Path("var"))

    assert (read["CONN_MAX_AGE"], read["CONN_HEALTH_CHECKS"]) == (0, False)
    assert "options" not in read["OPTIONS"]


def test_the_web_keeps_connections_that_it_looks_at_first():
    read = database(PARTS, Path("var"), is_web=True)

    assert read["CONN_MAX_AGE"] > 0
    assert read["CONN_HEALTH_CHECKS"]
    assert read["OPTIONS"]["options"] == "-c statement_timeout=30s -c lock_timeout=20s"


def test_the_addresss_own_words_reach_libpq():
    assert database(PARTS, Path("var"))["OPTIONS"]["sslmode"] == "verify-full"


@pytest.mark.parametrize(("first", "age_s"), [("import deploy.wsgi", 60), ("import deploy", 0)])
def test_only_the_web_servers_process_is_the_web(tmp_path, first, age_s):
    asked = "s.DATABASES['default']['CONN_MAX_AGE']"
    done = read_settings(
        tmp_path, asked, first=first, FLEET_DATABASE="postgresql://u@/fleet?host=/nowhere"
    )

    assert done.stdout == f"{[age_s]}\n", done.stderr


@pytest.mark.services
@pytest.mark.django_db
def test_a_page_gives_up_on_a_statement_that_hangs(postgres, monkeypatch):
    monkeypatch.setattr(databases, "WEB_STATEMENT_S", 1)
    told = databases.options(PARTS, is_web=True)["options"]
    web = DatabaseWrapper(connection.settings_dict | {"OPTIONS": {"options": told}}, "web")

    with (
        contextlib.closing(web),
        pytest.raises(OperationalError, match="statement timeout"),
        web.cursor() as cursor,
    ):
        cursor.execute("SELECT pg_sleep(5)")


def manage(var, *words):
    """Run a command of the tool with settings of its own; return how it ended and what it said."""
    bare = {name: value for name, value in os.environ.items() if not name.startswith("FLEET_")}
    given = {"FLEET_VAR": str(var), "DJANGO_SETTINGS_MODULE": "deploy.settings"}
    command = [sys.executable, "manage.py", *words]
    done = subprocess.run(command, cwd=ROOT, env=bare | given, capture_output=True, text=True)
    return done.returncode, done.stderr


def test_a_command_says_in_a_line_what_is_the_matter_with_the_database(tmp_path):
    code, said = manage(tmp_path, "reproject")

    assert code == 1
    assert said.startswith("Broken off by the database: no such table: ")
    assert said.endswith(". What to do: run manage.py doctor.\n") and said.count("\n") == 1
