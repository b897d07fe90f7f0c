"""Alone with a thing, for as long as a connection to the database lives."""

import contextlib
from hashlib import sha256

from django.db import DatabaseError, connection


@contextlib.contextmanager
def alone_with(thing: str):
    """Yield whether no other connection holds the thing; hold it while the block runs.

    By an advisory lock of PostgreSQL, which no clock can make lapse. SQLite has none: there
    a claim by time must do.
    """
    if connection.vendor != "postgresql":
        yield True
        return
    number = int.from_bytes(sha256(thing.encode()).digest()[:8], "big", signed=True)
    is_mine = _ask("SELECT pg_try_advisory_lock(%s)", number)
    try:
        yield is_mine
    finally:
        if is_mine:
            # a connection that is gone holds nothing
            with contextlib.suppress(DatabaseError):
                _ask("SELECT pg_advisory_unlock(%s)", number)


def _ask(query, number):
    with connection.cursor() as cursor:
        cursor.execute(query, [number])
        return cursor.fetchone()[0]
