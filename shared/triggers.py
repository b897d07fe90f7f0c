"""Triggers that keep facts, their lines and the journal insert-only, on both databases.

SQLite drops a table's triggers silently when Django re-makes the table, and lets
INSERT OR REPLACE delete a row without a DELETE trigger: so they are laid after every
migrate, checked at start, and an insert of a known key is refused too.
"""

from django.apps import apps
from django.core import checks
from django.db import DatabaseError, connections, models

MESSAGE = "insert only"


def kept_models():
    """Every model whose rows are only ever inserted."""
    return [model for model in apps.get_models() if getattr(model, "insert_only", False)]


def unique_keys(model):
    """Column tuples that no two rows may share, the primary key first."""
    meta = model._meta
    single = [(field.column,) for field in meta.concrete_fields if field.unique]
    named = [
        tuple(meta.get_field(name).column for name in constraint.fields)
        for constraint in meta.constraints
        if isinstance(constraint, models.UniqueConstraint) and constraint.condition is None
    ]
    return single + named


def lay_after_migrate(sender, using, **kwargs):
    lay(connections[using])


def lay(connection):
    """Lay the triggers of every kept table that exists; again is the same."""
    tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for model in kept_models():
            if model._meta.db_table in tables:
                for statement in _statements(connection.vendor, model):
                    cursor.execute(statement)


def lift(connection):
    """Drop the triggers: for a test database's flush, never in use."""
    with connection.cursor() as cursor:
        for model in kept_models():
            table = model._meta.db_table
            for name in names_on(connection.vendor, table):
                on = f' ON "{table}"' if connection.vendor == "postgresql" else ""
                cursor.execute(f'DROP TRIGGER IF EXISTS "{name}"{on}')


def names_on(vendor, table):
    """Names of the triggers that ``table`` must carry."""
    last = "truncate" if vendor == "postgresql" else "replace"
    return [f"{table}_no_{act}" for act in ("update", "delete", last)]


def missing(connection):
    """Return the names of triggers that ought to be there and are not."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT tgname FROM pg_trigger WHERE tgenabled <> 'D'"
            if connection.vendor == "postgresql"
            else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        )
        found = {row[0] for row in cursor.fetchall()}
    tables = set(connection.introspection.table_names())
    return [
        name
        for model in kept_models()
        if model._meta.db_table in tables
        for name in names_on(connection.vendor, model._meta.db_table)
        if name not in found
    ]


def check_triggers(app_configs=None, databases=None, **kwargs):
    """Report tables whose records could be changed: the start refuses them."""
    try:
        gone = [name for alias in databases or [] for name in missing(connections[alias])]
    except DatabaseError as error:
        return [checks.Warning(f"the triggers could not be looked up: {error}", id="shared.W001")]
    if not gone:
        return []
    return [
        checks.Error(
            f"records could be changed: trigger {', '.join(gone)} is missing",
            hint="Run manage.py migrate: it lays the triggers again.",
            id="shared.E001",
        )
    ]


def _statements(vendor, model):
    table = model._meta.db_table
    return _postgres(table) if vendor == "postgresql" else _sqlite(table, unique_keys(model))


def _postgres(table):
    yield (
        "CREATE OR REPLACE FUNCTION fleet_insert_only() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}: %', TG_TABLE_NAME; END $$"
    )
    for act, each in (("update", "ROW"), ("delete", "ROW"), ("truncate", "STATEMENT")):
        yield (
            f'CREATE OR REPLACE TRIGGER "{table}_no_{act}" BEFORE {act.upper()} ON "{table}" '
            f"FOR EACH {each} EXECUTE FUNCTION fleet_insert_only()"
        )


def _sqlite(table, keys):
    abort = f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}: {table}'); END"
    for act in ("update", "delete"):
        yield (
            f'CREATE TRIGGER IF NOT EXISTS "{table}_no_{act}" '
            f'BEFORE {act.upper()} ON "{table}" {abort}'
        )
    same = " OR ".join(
        "(" + " AND ".join(f'"{column}" = NEW."{column}"' for column in key) + ")" for key in keys
    )
    yield (
        f'CREATE TRIGGER IF NOT EXISTS "{table}_no_replace" BEFORE INSERT ON "{table}" '
        f'WHEN EXISTS (SELECT 1 FROM "{table}" WHERE {same}) {abort}'
    )
