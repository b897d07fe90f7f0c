"""What the connected role may do on PostgreSQL, where the app needs less than the owner has.

SQLite knows no roles: who may write its file may change all of it.
"""

from django.core import checks
from django.db import DatabaseError, connections, transaction

from shared import triggers

HINT = 'See "PostgreSQL with two roles" in README.md.'
MORE = "UPDATE, DELETE, TRUNCATE, REFERENCES, TRIGGER"

KEPT = "FROM pg_class c WHERE pg_table_is_visible(c.oid) AND relname = ANY(%s)"
# whoever owns the table, its schema, the database or the function could drop or replace them
OWNS = f"""
SELECT EXISTS (
    SELECT FROM (SELECT relowner, relnamespace {KEPT}) kept
    JOIN pg_namespace n ON n.oid = relnamespace
    JOIN pg_database ON datname = current_database()
    JOIN pg_proc ON proname = 'fleet_insert_only'
    CROSS JOIN LATERAL unnest(ARRAY[relowner, nspowner, datdba, proowner]) AS holder
    WHERE pg_has_role(holder, 'MEMBER')
) OR (SELECT rolcreaterole FROM pg_roles WHERE rolname = current_user)
"""
OWNS_TABLES = f"SELECT EXISTS (SELECT {KEPT} AND pg_has_role(relowner, 'MEMBER'))"
MAY_CHANGE = f"""
SELECT relname {KEPT} AND (
    has_table_privilege(c.oid, 'DELETE, TRUNCATE, TRIGGER')
    OR has_any_column_privilege(c.oid, 'UPDATE')
) ORDER BY relname
"""
GRANTED_MORE = f"""
SELECT DISTINCT c.oid::regclass::text,
    CASE grantee WHEN 0 THEN 'PUBLIC' ELSE quote_ident(pg_get_userbyid(grantee)) END
FROM (SELECT c.oid, relowner, relacl {KEPT}) c, aclexplode(relacl)
WHERE grantee <> relowner AND privilege_type NOT IN ('SELECT', 'INSERT')
"""


def keep_after_migrate(sender, using, **kwargs):
    """Lay the triggers and narrow the rights; the app's own role may do neither."""
    connection = connections[using]
    if connection.vendor != "postgresql":
        triggers.lay(connection)
    elif _ask(connection, OWNS_TABLES) == [(True,)]:
        triggers.lay(connection)
        narrow(connection)


def narrow(connection):
    """Leave everyone but the owner SELECT and INSERT on the kept tables, and no more."""
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        for table, role in _ask(connection, GRANTED_MORE):
            cursor.execute(f"REVOKE {MORE} ON {table} FROM {role} CASCADE")


def check_role(app_configs=None, databases=None, **kwargs):
    """Warn when the connected role could change what is recorded, or take away what keeps it."""
    asked = [connections[alias] for alias in databases or []]
    try:
        return [
            doubt for one in asked if one.vendor == "postgresql" for doubt in _doubts_about(one)
        ]
    except DatabaseError:
        # check_triggers says that the database could not be asked
        return []


def _doubts_about(connection):
    if _ask(connection, OWNS) == [(True,)]:
        line = "the app could drop its own triggers: its role owns them, or could take that right"
        return [checks.Warning(line, hint=HINT, id="shared.W002")]
    if changeable := [name for (name,) in _ask(connection, MAY_CHANGE)]:
        line = f"the app's role has more than SELECT and INSERT on {', '.join(changeable)}"
        return [checks.Warning(line, hint="Run manage.py migrate as the owner.", id="shared.W007")]
    return []


def _ask(connection, question):
    tables = [model._meta.db_table for model in triggers.kept_models()]
    with connection.cursor() as cursor:
        cursor.execute(question, [tables] if "%s" in question else None)
        return cursor.fetchall()
