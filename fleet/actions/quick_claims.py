"""Claims of rows that each have a mail of their own, thousands in a morning.

The same as in ``claims``, where rows may go together, but in few statements, each written once.
"""

from django.db import connection

from fleet.mail_faults import WAITS
from fleet.models import CheckpointMail, Digest, Notice
from shared.alone import alone_with_each

# their locks alone are held for a while: each is claimed at its turn
LOCKED_AT_ONCE = 50
WAITING_SQL = {
    Notice: "sent_at IS NULL AND dropped = ''",
    Digest: "sent_at IS NULL AND dropped = '' AND NOT empty",
    CheckpointMail: "sent_at IS NULL AND dropped = ''",
}
CLAIM = """
    UPDATE {table} SET claimed_at = %(at)s, attempts = attempts + 1, sending_at = NULL,
        deaths = deaths + CASE WHEN claimed_at IS NULL THEN 0 ELSE 1 END,
        doubtful = doubtful + CASE WHEN sending_at IS NULL THEN 0 ELSE 1 END
    WHERE id = %(id)s AND attempts = %(attempts)s AND {waiting}
    AND (claimed_at IS NULL OR claimed_at < %(lapsed)s OR claimed_at > %(ahead)s)
    AND (next_try_at IS NULL OR next_try_at <= %(at)s OR next_try_at > %(last_try)s)
"""
STILL = "id = %(id)s AND claimed_at = %(claimed_at)s AND attempts = %(attempts)s AND {waiting}"
BEGIN_TEXT = f"UPDATE {{table}} SET sending_at = %(at)s WHERE {STILL}"


def taken(rows, at, lapses):
    """Yield each of the rows that this worker can claim, claimed, until it is asked for more."""
    for start in range(0, len(rows), LOCKED_AT_ONCE):
        some = {lock_of(type(row), row.pk): row for row in rows[start : start + LOCKED_AT_ONCE]}
        with alone_with_each(list(some)) as mine:
            free = [row for name, row in some.items() if name in mine]
            yield from (row for row in free if claim(row, at, lapses))


def lock_of(model, pk) -> str:
    """Return the name under which a row is locked while a worker has it."""
    return f"{model._meta.label} {pk}"


def claim(row, at, lapses) -> bool:
    """Claim a row, unless it was tried since it was read."""
    moments = {"lapsed": at - lapses, "ahead": at + lapses, "last_try": at + WAITS[-1]}
    told = {"id": row.pk, "attempts": row.attempts}
    if not _run(CLAIM, row, told, at=at, **moments):
        return False
    row.claimed_at, row.sending_at, row.attempts = at, None, row.attempts + 1
    return True


def begin_text(row, at) -> bool:
    """Write that the row's text goes out; whether it is held still."""
    return _run(BEGIN_TEXT, row, still(row), at=at) == 1


def still(row) -> dict:
    """Return what ``STILL`` is asked with: a row as this worker claimed it."""
    return {"id": row.pk, "attempts": row.attempts, "claimed_at": moment(row.claimed_at)}


def moment(at):
    return connection.ops.adapt_datetimefield_value(at)


def said(statement, model) -> str:
    return statement.format(table=model._meta.db_table, waiting=WAITING_SQL[model])


def _run(statement, row, told, **moments):
    told |= {name: moment(at) for name, at in moments.items()}
    with connection.cursor() as cursor:
        cursor.execute(said(statement, type(row)), told)
        return cursor.rowcount
