"""Migrating while others use the tables: it gives way, and says so."""

import psycopg
import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.core.management.commands import migrate
from django.db import OperationalError, connection

pytestmark = pytest.mark.django_db


def waits():
    with connection.cursor() as cursor:
        cursor.execute("SHOW lock_timeout")
        return cursor.fetchone()[0]


def test_it_waits_three_seconds_for_a_table_and_then_as_before(monkeypatch):
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has one lock for all, and no such setting")
    meanwhile, before = [], waits()
    monkeypatch.setattr(migrate.Command, "handle", lambda *args, **said: meanwhile.append(waits()))

    call_command("migrate")

    assert (meanwhile, waits()) == (["3s"], before)


def fail(cause):
    def handle(*args, **said):
        raise OperationalError("it failed") from cause

    return handle


@pytest.mark.parametrize(
    "cause", [psycopg.errors.LockNotAvailable, psycopg.errors.DeadlockDetected]
)
def test_a_table_in_use_is_said_in_words(monkeypatch, cause):
    monkeypatch.setattr(migrate.Command, "handle", fail(cause()))

    with pytest.raises(CommandError, match="a table was in use, and not let go within 3 s"):
        call_command("migrate")


def test_another_fault_stays_what_it_is(monkeypatch):
    monkeypatch.setattr(migrate.Command, "handle", fail(psycopg.errors.AdminShutdown()))

    with pytest.raises(OperationalError, match="it failed"):
        call_command("migrate")
