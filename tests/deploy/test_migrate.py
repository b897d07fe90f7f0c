"""Migrating while others use the tables: it gives way, and says so."""

import time

import psycopg
import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.core.management.commands import migrate
from django.db import OperationalError, connection

from deploy.management.commands.migrate import REST_S, TRIES

pytestmark = pytest.mark.django_db


def waits():
    with connection.cursor() as cursor:
        cursor.execute("SHOW lock_timeout")
        return cursor.fetchone()[0]


@pytest.fixture(autouse=True)
def rests(monkeypatch):
    """Rest no time; note for how long it would have been."""
    noted = []
    monkeypatch.setattr(time, "sleep", noted.append)
    return noted


def test_it_waits_half_a_second_for_a_table_and_then_as_before(monkeypatch):
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has one lock for all, and no such setting")
    meanwhile, before = [], waits()
    monkeypatch.setattr(migrate.Command, "handle", lambda *args, **said: meanwhile.append(waits()))

    call_command("migrate")

    assert (meanwhile, waits()) == (["500ms"], before)


def fail(cause, times=TRIES):
    """Return a migrate that fails so often, and then is done."""
    left = [cause] * times

    def handle(*args, **said):
        if left:
            raise OperationalError("it failed") from left.pop()

    return handle


IN_USE = [psycopg.errors.LockNotAvailable(), psycopg.errors.DeadlockDetected()]


@pytest.mark.parametrize("cause", IN_USE)
def test_a_table_in_use_is_waited_for(monkeypatch, rests, cause):
    monkeypatch.setattr(migrate.Command, "handle", fail(cause, TRIES - 1))

    call_command("migrate")

    assert rests == [REST_S] * (TRIES - 1)


@pytest.mark.parametrize("cause", IN_USE)
def test_a_table_long_in_use_is_said_in_words(monkeypatch, cause):
    monkeypatch.setattr(migrate.Command, "handle", fail(cause))

    with pytest.raises(CommandError, match="a table was in use, and not let go in 10 tries"):
        call_command("migrate")


def test_another_fault_stays_what_it_is(monkeypatch):
    monkeypatch.setattr(migrate.Command, "handle", fail(psycopg.errors.AdminShutdown()))

    with pytest.raises(OperationalError, match="it failed"):
        call_command("migrate")
