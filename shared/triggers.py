"""Triggers that keep facts, their lines and the journal insert-only, on both databases.

SQLite drops a table's triggers silently when Django re-makes the table, and lets
INSERT OR REPLACE delete a row without a DELETE trigger: so they are laid after every
migrate, checked at start, and an insert of a known key is refused too.
"""

from django.apps import apps
from django.core import checks
from django.db import DatabaseError, connections, models, transaction

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


def lay(connection):
    """Lay the triggers of every kept table that exists, in place of any under their names."""
    wanted = _wanted(connection)
    if connection.vendor == "postgresql":
        _lay_table_by_table(connection, wanted)
    else:
        _lay(connection, wanted)


def _lay_table_by_table(connection, wanted):
    """Lay those of tables where one is not as wanted.

    Each holds up all who use its table, and with several held they would wait for each other.
    """
    with connection.cursor() as cursor:
        cursor.execute(REFUSE)
        cursor.execute(AS_LAID)
        found = dict(cursor.fetchall())
    others = {table for name, (table, said) in wanted.items() if found.get(name) != _plain(said)}
    for other in sorted(others):
        _lay(connection, {name: one for name, one in wanted.items() if one[0] == other})


def _lay(connection, wanted):
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        for name, (table, statement) in wanted.items():
            _drop(cursor, name, table)
            cursor.execute(statement)


def _plain(statement):
    """Return a statement as PostgreSQL tells it: our names need no quotes."""
    return statement.replace('"', "")


def lift(connection):
    """Drop the triggers: for a test database's flush, never in use."""
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        for name, (table, _) in _wanted(connection).items():
            _drop(cursor, name, table)


def missing(connection):
    """Return the names of triggers that are gone, switched off or not as they are laid."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(f"SELECT tgname, NULL FROM ({AS_LAID}) laid")
        else:
            cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        found = dict(cursor.fetchall())
    return [
        name
        for name, (_, statement) in _wanted(connection).items()
        if name not in found or found[name] not in (None, statement)
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


def _wanted(connection):
    """Return name -> (table, statement) of each trigger that the tables there must carry."""
    tables = set(connection.introspection.table_names())
    statements = _postgres if connection.vendor == "postgresql" else _sqlite
    return {
        f"{table}_no_{act}": (table, statement)
        for model in kept_models()
        if (table := model._meta.db_table) in tables
        for act, statement in statements(model, table)
    }


def _drop(cursor, name, table):
    on = f' ON "{table}"' if cursor.db.vendor == "postgresql" else ""
    cursor.execute(f'DROP TRIGGER IF EXISTS "{name}"{on}')


REFUSE = (
    "CREATE OR REPLACE FUNCTION fleet_insert_only() RETURNS trigger LANGUAGE plpgsql AS "
    f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}: %', TG_TABLE_NAME; END $$"
)


# 'O' fires in ordinary sessions, 'A' always
AS_LAID = """
SELECT tgname, pg_get_triggerdef(t.oid, true)
FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
WHERE tgenabled IN ('O', 'A') AND pg_table_is_visible(c.oid)
"""


def _postgres(model, table):
    for act, each in (("update", "ROW"), ("delete", "ROW"), ("truncate", "STATEMENT")):
        yield (
            act,
            f'CREATE TRIGGER "{table}_no_{act}" BEFORE {act.upper()} ON "{table}" '
            f"FOR EACH {each} EXECUTE FUNCTION fleet_insert_only()",
        )


def _sqlite(model, table):
    abort = f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}: {table}'); END"
    for act in ("update", "delete"):
        yield act, f'CREATE TRIGGER "{table}_no_{act}" BEFORE {act.upper()} ON "{table}" {abort}'
    # one EXISTS a key: SQLite may scan the table for an OR within one
    known = " OR ".join(
        f'EXISTS (SELECT 1 FROM "{table}" WHERE '
        + " AND ".join(f'"{column}" = NEW."{column}"' for column in key)
        + ")"
        for key in unique_keys(model)
    )
    yield (
        "replace",
        f'CREATE TRIGGER "{table}_no_replace" BEFORE INSERT ON "{table}" WHEN {known} {abort}',
    )
