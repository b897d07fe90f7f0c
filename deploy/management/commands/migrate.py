"""Django's migrate, which on PostgreSQL does not queue for long where a table is in use."""

import contextlib
import time

from django.core.management.base import CommandError
from django.core.management.commands import migrate
from django.db import Error, OperationalError, connections

# who waits for a table stands before all who come after, even those who only read;
# and of two who wait for each other PostgreSQL ends one after 1 s: be gone before
LOCK_WAIT_MS = 500
TRIES, REST_S = 10, 1
LOCK_NOT_AVAILABLE = "55P03"
DEADLOCK_DETECTED = "40P01"
IN_USE = (LOCK_NOT_AVAILABLE, DEADLOCK_DETECTED)


class Command(migrate.Command):
    def handle(self, *args, **options):
        with waiting_briefly(connections[options["database"]]):
            for left in reversed(range(TRIES)):
                try:
                    return super().handle(*args, **options)
                except OperationalError as error:
                    if getattr(error.__cause__, "sqlstate", None) not in IN_USE:
                        raise
                    give_way(self.stderr, left, error)


def give_way(stderr, left, error):
    """Rest before the next try. Raises CommandError when none is left."""
    if left:
        stderr.write("A table is in use; what is being migrated waits a second.")
        time.sleep(REST_S)
        return
    raise CommandError(
        f"a table was in use, and not let go in {TRIES} tries; what was being migrated is as "
        "it was. Run migrate again, when less is going on or with the tool stopped."
    ) from error


@contextlib.contextmanager
def waiting_briefly(connection):
    """Have PostgreSQL give up on a lock soon, until this ends."""
    if connection.vendor != "postgresql":
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute(f"SET lock_timeout = '{LOCK_WAIT_MS}ms'")
    try:
        yield
    finally:
        # a connection that was lost has forgotten it by itself
        with contextlib.suppress(Error), connection.cursor() as cursor:
            cursor.execute("RESET lock_timeout")
