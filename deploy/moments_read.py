"""Moments as PostgreSQL sends them, read by psycopg's compiled loader and not Django's own.

Most of the time that it took to read a fact's row went into its three moments.
"""

from datetime import UTC
from functools import cache

TIMESTAMPTZ_OID = 1184  # PostgreSQL's pg_type.dat


def use_compiled(connection, **kwargs):
    """Let a new connection read its moments so; hears of it by ``connection_created``."""
    if connection.vendor == "postgresql":
        loader = loader_of(connection.Database)
        connection.connection.adapters.register_loader("timestamptz", loader)


@cache
def loader_of(psycopg):
    """Return a loader of moments in UTC, around the one that the driver takes by itself."""
    plain = psycopg.adapters.get_loader(TIMESTAMPTZ_OID, psycopg.pq.Format.TEXT)

    class Moment(psycopg.adapt.Loader):
        # where it says another zone, Django puts its own loader in its place
        timezone = UTC

        def __init__(self, oid, context=None):
            super().__init__(oid, context)
            self.read = plain(oid, context).load

        def load(self, data):
            return self.read(data).astimezone(UTC)

    return Moment
