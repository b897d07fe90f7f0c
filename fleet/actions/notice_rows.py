"""Notices kept once for each person, thing and stage, however many workers offer them."""

from django.db import connection

from fleet.crossed import alike, asked_of, lacks_at, lacks_sql, without_made
from fleet.models import Notice
from fleet.reminding import TOLD_AT_ONCE

BATCH_ROWS = 500
# one lack is enough: the rest is found when it is written
LACKING = f"""
    SELECT h.site_id FROM unnest(%(here)s::uuid[]) AS h (site_id)
    WHERE EXISTS ({lacks_sql("r.site_id = h.site_id")})
"""
# in one order, so that workers cannot deadlock
KEEP = f"""
    INSERT INTO fleet_notice
        (site_id, about, cart_id, stage, day, person_id, made_at, at_once, attempts, dropped)
    SELECT lacks.*, %(at)s, stage = ANY(%(at_once)s), 0, ''
    FROM ({lacks_sql("r.site_id = ANY(%(here)s)")}) AS lacks
    ORDER BY about, stage, person_id
    ON CONFLICT DO NOTHING
"""


def sites_lacking(days) -> set:
    """Return the ids of the sites where somebody lacks a notice; PostgreSQL alone knows before."""
    if connection.vendor != "postgresql":
        return set(days)
    found = set()
    with connection.cursor() as cursor:
        for some in alike(days):
            cursor.execute(LACKING, asked_of(some))
            found |= {site_id for (site_id,) in cursor}
    return found


def keep(lacks, site, *, at) -> int:
    """Write notices that people may lack; return how many were offered anew."""
    rows = [
        Notice(site=site, made_at=at, at_once=lack.stage in TOLD_AT_ONCE, **lack._asdict())
        for lack in sorted(without_made(lacks), key=lambda one: (*one[:1], *one[2:]))
    ]
    Notice.objects.bulk_create(rows, ignore_conflicts=True, batch_size=BATCH_ROWS)
    return len(rows)


def keep_crossed(here, *, at) -> int:
    """Write the notices of the stages that rechecks at a site newly stand in; return how many."""
    if connection.vendor != "postgresql":
        return keep(lacks_at(here), here.site, at=at)
    told = asked_of([here]) | {"at": at, "at_once": [stage.value for stage in TOLD_AT_ONCE]}
    with connection.cursor() as cursor:
        cursor.execute(KEEP, told)
        return cursor.rowcount
