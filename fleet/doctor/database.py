"""The database: whether it answers, which it is, and whether it keeps what it acknowledged."""

from contextlib import suppress

from django.conf import settings
from django.db import Error, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.doctor.sign import trouble, well
from shared import roles, triggers
from shared.models import JournalHead

# a commit that these let go may be gone after a power cut (PostgreSQL manual, 19.5)
MUST_BE_ON = ("fsync", "full_page_writes", "synchronous_commit")
WEAK = ("off", "local")
# SQLite manual, PRAGMA synchronous: FULL; a power cut spoils nothing
SYNCHRONOUS_FULL = 2
UNSAFE_JOURNALS = ("off",)


def answers(at):
    _value("SELECT 1")
    if JournalHead._meta.db_table not in connection.introspection.table_names():
        said = _("The database is empty: it has no tables yet.")
        return trouble(said, _("Run manage.py migrate."))
    return well(_("%(name)s answers.") % {"name": name()})


def let_go():
    """Give up a connection that failed, unless a transaction of the caller is open on it."""
    if not connection.in_atomic_block:
        with suppress(Error):
            connection.close()


def name():
    """Return which database it is, with its version."""
    version = ".".join(str(part) for part in connection.get_database_version())
    return f"{connection.display_name} {version}"


def journal_mode(at):
    """Which journal SQLite keeps; write-ahead logging needs a library without its fault."""
    if connection.vendor != "sqlite":
        return None
    mode = _value("PRAGMA journal_mode")
    said = _("%(name)s keeps its journal as: %(mode)s.") % {"name": name(), "mode": mode}
    if mode == "wal" and not settings.SQLITE_WAL_IS_SOUND:
        return trouble(
            said + " " + _("This library's write-ahead log can lose commits."),
            _("Start the tool by deploy/start, which sets the rollback journal."),
        )
    if mode in UNSAFE_JOURNALS:
        return trouble(said, _("Start the tool by deploy/start, which sets the journal."))
    return well(said)


def keeps_commits(at):
    lax = _lax_sqlite() if connection.vendor == "sqlite" else _lax_postgresql()
    if lax:
        return trouble(
            _("A power cut may lose what was recorded: %(names)s.") % {"names": ", ".join(lax)},
            _("Set it back in the configuration of the database."),
        )
    return well(_("What was recorded is on the disk before it is acknowledged."))


def _lax_sqlite():
    is_lax = _value("PRAGMA synchronous") < SYNCHRONOUS_FULL
    return ["PRAGMA synchronous"] if is_lax else []


def _lax_postgresql():
    found = {name: _value(f"SHOW {name}") for name in MUST_BE_ON}
    return [f"{name} = {value}" for name, value in found.items() if value in WEAK]


def insert_only(at):
    gone = triggers.missing(connection)
    if gone:
        said = ngettext(
            "What is recorded could be changed: %(count)s trigger is missing.",
            "What is recorded could be changed: %(count)s triggers are missing.",
            len(gone),
        )
        return trouble(said % {"count": len(gone)}, _("Run manage.py migrate: it lays them again."))
    return well(_("The triggers that keep records as they are stand."))


def rights(at):
    """What the start warns of is no trouble of this hour: one role serves a small place."""
    if connection.vendor != "postgresql":
        return well(_("On SQLite there are no roles: who may write the file may change it."))
    doubts = roles.check_role(databases=[connection.alias])
    return well(" ".join(doubt.msg for doubt in doubts) or _("The app's role may only insert."))


def migrations(at):
    executor = MigrationExecutor(connection)
    missing = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if missing:
        said = ngettext(
            "%(count)s change of the tables is not made yet.",
            "%(count)s changes of the tables are not made yet.",
            len(missing),
        )
        return trouble(said % {"count": len(missing)}, _("Run manage.py migrate."))
    return well(_("The tables are those of this release."))


def _value(question):
    with connection.cursor() as cursor:
        cursor.execute(question)
        return cursor.fetchone()[0]
