"""Multiplies the pattern site in SQL: every table of it, under new ids, as often as asked.

A copy's ids are the pattern's with the copy's number for their first 32 bits, so that a
copy's ids lie together as ids of one time do. Rechecks have those that a projection gives.
Entries keep the pattern's bytes: they hash to their leaf, but name the pattern's carts.
"""

from concurrent.futures import ThreadPoolExecutor
from itertools import count
from uuid import uuid5

import psycopg
from django.apps import apps
from django.db import connection, models

from fleet.models import Cart, Recheck
from shared import triggers
from shared.models import Change, LastDone, Person, Site

OURS = ("shared", "fleet", "lifts", "alignment")
# above so many copies the further indexes are made anew at the end: that is quicker
INDEXES_KEPT_UNTIL = 200
COPIED_ID = """
CREATE OR REPLACE FUNCTION pg_temp.copied(id uuid, k int) RETURNS uuid LANGUAGE sql IMMUTABLE
STRICT PARALLEL SAFE AS $$ SELECT (lpad(to_hex(k), 8, '0') || substr(id::text, 9))::uuid $$
"""
COPIED = "pg_temp.copied(p.{}, k)"
OTHERWISE = {
    (Site, "slug"): "p.slug || '-' || k",
    (Person, "email"): "k || '.' || p.email",
    (Cart, "plate"): "md5(p.plate || k)",
    (Change, "value"): "CASE WHEN p.value ? 'plate' THEN p.value ||"
    " jsonb_build_object('plate', md5((p.value ->> 'plate') || k)) WHEN p.value ? 'fitting'"
    " THEN p.value || jsonb_build_object('fitting',"
    " pg_temp.copied((p.value ->> 'fitting')::uuid, k)) ELSE p.value END",
}
RECHECK_ID = (
    f"uuid_generate_v5({COPIED.format('cart_id')}, p.rule_code || '|' || p.subject || '|' ||"
    f" {COPIED.format('anchor_id')} || '|' || p.step)"
)
OTHER_INDEXES = """
SELECT i.indexrelid::regclass::text, pg_get_indexdef(i.indexrelid) FROM pg_index i
WHERE i.indrelid = %s::regclass AND NOT EXISTS
    (SELECT 1 FROM pg_constraint c WHERE c.conindid = i.indexrelid)
"""
NOTE_STEPS = """
UPDATE pattern SET step = s.step FROM unnest(%s::uuid[], %s::int[]) AS s(id, step)
WHERE pattern.id = s.id
"""
TABLES_AT_ONCE = 2


def multiply(copies: int, *, without=frozenset(), say=lambda text: None) -> None:
    """Add so many copies of everything that the database holds, numbered from 1.

    ``without`` are models left out.
    """
    with connection.cursor() as cursor:
        cursor.execute('CREATE EXTENSION IF NOT EXISTS "uuid-ossp"')
    # a thread has no connection of Django's but the settings' own
    at, steps = connection.get_connection_params(), _steps()
    adding = {one._meta.db_table: insertion(one) for one in tables() if one not in without}

    def add(table):
        say(f"{copies:,} copies of {table}")
        with psycopg.connect(**at) as own:
            _multiply(own.cursor(), table, adding[table], copies, steps)

    with ThreadPoolExecutor(TABLES_AT_ONCE) as pool:
        list(pool.map(add, adding))
    tidy()


def tidy() -> None:
    """Let the planner know what is there, and the index-only scans what all can see."""
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE")


def tables() -> list[type[models.Model]]:
    """Return the tool's own models that hold rows, all of which belong to a site."""
    ours = [model for model in apps.get_models() if model._meta.app_label in OURS]
    return [one for one in ours if one is not LastDone and one._base_manager.exists()]


def kept() -> frozenset[type[models.Model]]:
    """Return the models of facts, of their lines and of entries."""
    return frozenset(triggers.kept_models())


def _multiply(cursor, table, insert, copies, steps):
    cursor.execute(COPIED_ID)
    # neither foreign keys nor triggers are asked, as in a restore
    cursor.execute("SET session_replication_role = replica")
    cursor.execute(f"CREATE TEMP TABLE pattern AS SELECT * FROM {table}")
    if table == Recheck._meta.db_table:
        cursor.execute("ALTER TABLE pattern ADD COLUMN step int")
        cursor.execute(NOTE_STEPS, steps)
    made_anew = []
    if copies > INDEXES_KEPT_UNTIL:
        cursor.execute(OTHER_INDEXES, [table])
        made_anew = cursor.fetchall()
    for name, _made in made_anew:
        cursor.execute(f"DROP INDEX {name}")
    # one copy a statement: the rows of a site lie together
    for copy in range(1, copies + 1):
        cursor.execute(insert, [copy])
    for _name, made in made_anew:
        cursor.execute(made)


def insertion(model) -> str:
    """Return the statement that adds one copy; its parameter is the copy's number."""
    fields = [f for f in model._meta.concrete_fields if not isinstance(f, models.AutoField)]
    names = ", ".join(f'"{field.column}"' for field in fields)
    values = ", ".join(_value(model, field) for field in fields)
    return (
        f"INSERT INTO {model._meta.db_table} ({names}) SELECT {values}"
        " FROM pattern p, (SELECT %s::int AS k) copy"
    )


def _value(model, field):
    if model is Recheck and field.primary_key:
        return RECHECK_ID
    if (model, field.column) in OTHERWISE:
        return OTHERWISE[model, field.column]
    if field.db_type(connection) == "uuid":
        return COPIED.format(field.column)
    return f'p."{field.column}"'


def _steps():
    """Return ids of the pattern's rechecks and their steps of a ladder: their ids hold it."""
    rows = Recheck.objects.values_list("id", "cart_id", "rule_code", "subject", "anchor_id")
    found = [(row[0], _step(*row)) for row in rows]
    return [list(column) for column in zip(*found, strict=True)]


def _step(key, cart_id, rule_code, subject, anchor_id):
    return next(
        step
        for step in count()
        if uuid5(cart_id, f"{rule_code}|{subject}|{anchor_id}|{step}") == key
    )
