from datetime import UTC, datetime, timedelta, timezone

import pytest
from django.db import connection
from django.db.backends.postgresql.psycopg_any import register_tzloader

from deploy.moments_read import loader_of

pytestmark = [pytest.mark.django_db, pytest.mark.services]
ASKED = "SELECT '{}'::timestamptz"
MOMENTS = [
    datetime(2026, 6, 15, 16, 0, tzinfo=UTC),
    datetime(1969, 12, 31, 23, 59, 59, 999_999, tzinfo=UTC),
    datetime(2026, 3, 29, 2, 30, 0, 10, tzinfo=timezone(timedelta(hours=5, minutes=45))),
    datetime(1, 1, 1, tzinfo=UTC),
    datetime(9999, 12, 31, 23, 59, 59, tzinfo=UTC),
]


@pytest.mark.parametrize("at", MOMENTS)
def test_a_moment_is_read_as_by_djangos_own_loader(at):
    with connection.cursor() as cursor:
        ours = cursor.execute(ASKED.format(at.isoformat())).fetchone()[0]
        register_tzloader(UTC, cursor.cursor)
        djangos = cursor.execute(ASKED.format(at.isoformat())).fetchone()[0]

    assert ours == djangos == at
    assert ours.tzinfo is djangos.tzinfo is UTC


def test_a_connection_in_another_zone_gives_the_same_moment():
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL TIME ZONE 'Asia/Kathmandu'")
        found = cursor.execute(ASKED.format(MOMENTS[0].isoformat())).fetchone()[0]

    assert (found, found.tzinfo) == (MOMENTS[0], UTC)


def test_the_loader_is_in_place():
    connection.ensure_connection()

    found = connection.connection.adapters.get_loader(1184, connection.Database.pq.Format.TEXT)

    assert found is loader_of(connection.Database)
