"""Alone with a thing, for as long as a connection to the database lives."""

import contextlib
from hashlib import sha256

from django.db import DatabaseError, connection

TRY_LOCK = "SELECT n, pg_try_advisory_lock(n) FROM unnest(%s::bigint[]) AS t (n)"
UNLOCK = "SELECT n, pg_advisory_unlock(n) FROM unnest(%s::bigint[]) AS t (n)"


@contextlib.contextmanager
def alone_with(thing: str):
    """Yield whether no other connection holds the thing; hold it while the block runs.

    By an advisory lock of PostgreSQL, which no clock can make lapse. SQLite has none: there
    a claim by time must do.
    """
    with alone_with_each([thing]) as mine:
        yield thing in mine


@contextlib.contextmanager
def alone_with_each(things: list[str]):
    """Yield those of the things that no other connection holds; hold them while the block runs."""
    if connection.vendor != "postgresql":
        yield set(things)
        return
    numbers = {_number(thing): thing for thing in things}
    mine = _ask(TRY_LOCK, list(numbers))
    try:
        yield {numbers[number] for number in mine}
    finally:
        if mine:
            # a connection that is gone holds nothing
            with contextlib.suppress(DatabaseError):
                _ask(UNLOCK, mine)


def _number(thing):
    return int.from_bytes(sha256(thing.encode()).digest()[:8], "big", signed=True)


def _ask(query, numbers):
    """Return those of the numbers for which the query's function answers yes."""
    with connection.cursor() as cursor:
        cursor.execute(query, [numbers])
        return [number for number, is_so in cursor if is_so]
