"""Notices kept once for each person, thing and stage, however many workers offer them."""

from django.db import connection

from fleet.crossed import without_made
from fleet.models import Notice

BATCH_ROWS = 500
# in one order, so that workers cannot deadlock
KEEP = """
    INSERT INTO fleet_notice
        (site_id, made_at, about, cart_id, stage, day, person_id, at_once, attempts, dropped)
    SELECT %(site)s, %(at)s, about, cart_id, stage, day, person_id, stage = ANY(%(urgent)s), 0, ''
    FROM unnest(%(about)s::uuid[], %(cart_id)s::uuid[], %(stage)s::text[], %(day)s::date[],
        %(person_id)s::uuid[]) AS lack (about, cart_id, stage, day, person_id)
    ORDER BY about, stage, person_id
    ON CONFLICT DO NOTHING
"""


def keep(lacks, site, *, at, urgent) -> int:
    """Write the notices that people lack, those of ``urgent`` stages at once; return how many."""
    write = _by_sql if connection.vendor == "postgresql" else _by_rows
    return write(lacks, site, at, urgent) if lacks else 0


def _by_sql(lacks, site, at, urgent):
    names = ("about", "cart_id", "stage", "day", "person_id")
    columns = {
        name: list(column) for name, column in zip(names, zip(*lacks, strict=True), strict=True)
    }
    columns["stage"] = [str(stage) for stage in columns["stage"]]
    more = {"site": site.pk, "at": at, "urgent": [stage.value for stage in urgent]}
    with connection.cursor() as cursor:
        cursor.execute(KEEP, columns | more)
        return cursor.rowcount


def _by_rows(lacks, site, at, urgent):
    fresh = without_made(lacks)
    rows = [
        Notice(site=site, made_at=at, at_once=lack.stage in urgent, **lack._asdict())
        for lack in sorted(fresh, key=lambda one: (one.about, one.stage, one.person_id))
    ]
    Notice.objects.bulk_create(rows, ignore_conflicts=True, batch_size=BATCH_ROWS)
    return len(rows)
