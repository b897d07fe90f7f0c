"""What a database holds, asked in plain SQL, so that an older one can be asked too."""

import hashlib
from uuid import UUID

from deploy.keeping.manifest import Journal
from fleet.actions import bundles, imports
from fleet.models import Bundle, ImportRun
from lifts.models import Kit, WrenchCertificate
from shared.models import Entry, JournalHead, Photo, Site
from shared.tree import Growing

PAGE_ENTRIES = 2000
# written by every migrate, so that a new database has them
FROM_MIGRATE = {"django_migrations", "django_content_type", "auth_permission"}

# model, field, folder of the media: a file lies under its SHA-256, or as its row says
FILED_BY_SUM = [
    (Photo, "original_sha256", "photos/originals"),
    (Photo, "copy_sha256", "photos/copies"),
    (Kit, "sheet_sha256", "sheets"),
    (Kit, "sheet_copy_sha256", "sheets"),
    (WrenchCertificate, "file_sha256", "certificates"),
    (WrenchCertificate, "file_copy_sha256", "certificates"),
]
FILED_BY_NAME = [(Bundle, "file", bundles.FOLDER), (ImportRun, "file", imports.FOLDER)]
FOLDERS = {folder for _model, _column, folder in (*FILED_BY_SUM, *FILED_BY_NAME)}


def tables_of(connection) -> dict[str, int]:
    """Return how many rows each table holds."""
    return {
        table: _rows(connection, f"SELECT count(*) FROM {connection.ops.quote_name(table)}")[0][0]
        for table in sorted(connection.introspection.table_names())
    }


def migrations_of(connection) -> list[tuple[str, str]]:
    return _rows(connection, "SELECT app, name FROM django_migrations ORDER BY app, name")


def is_empty(tables: dict[str, int]) -> bool:
    """Say whether a database holds nothing but what a migrate writes."""
    return not any(rows for table, rows in tables.items() if table not in FROM_MIGRATE)


def journals_of(connection) -> list[Journal]:
    """Return how each journal ends, its root worked anew from the bytes of its entries."""
    heads = _rows(
        connection,
        f"SELECT h.site_id, s.slug, h.epoch, h.size FROM {_table(JournalHead)} h "
        f"JOIN {_table(Site)} s ON s.id = h.site_id ORDER BY s.slug",
    )
    return [_journal(connection, UUID(str(site)), *about) for site, *about in heads]


def _journal(connection, site, slug, epoch, size):
    grown = Growing()
    for page in leaf_pages(connection, site):
        grown.add(page)
    return Journal(str(site), slug, epoch, size, grown.root().hex())


def leaf_pages(connection, site: UUID):
    """Yield the leaves of a journal in pages, worked from the bytes of its entries."""
    ask = (
        f"SELECT seq, salt, body FROM {_table(Entry)} WHERE site_id = %s AND seq > %s "
        f"ORDER BY seq LIMIT {PAGE_ENTRIES}"
    )
    key, after = Site._meta.pk.get_db_prep_value(site, connection), -1
    while rows := _rows(connection, ask, [key, after]):
        yield [hashlib.sha256(b"\0" + bytes(salt) + bytes(body)).digest() for _, salt, body in rows]
        after = rows[-1][0]


def named_files(connection) -> set[str]:
    """Return every file of the media that a row names."""
    found = set()
    for model, column, folder in FILED_BY_SUM:
        found |= {f"{folder}/{sha[:2]}/{sha}" for sha in _said(connection, model, column)}
    for model, column, _folder in FILED_BY_NAME:
        found |= _said(connection, model, column)
    return found


def _said(connection, model, column):
    """Return what a column says, nothing where an older database has none."""
    table = model._meta.db_table
    with connection.cursor() as cursor:
        if table not in connection.introspection.table_names(cursor):
            return set()
        known = connection.introspection.get_table_description(cursor, table)
        if column not in {one.name for one in known}:
            return set()
    said = _rows(connection, f"SELECT DISTINCT {column} FROM {_table(model)} WHERE {column} > ''")
    return {value for (value,) in said}


def _table(model):
    return f'"{model._meta.db_table}"'


def _rows(connection, ask, values=None):
    with connection.cursor() as cursor:
        cursor.execute(ask, values)
        return cursor.fetchall()
