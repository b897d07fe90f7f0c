"""Rows written to the database many at once: by COPY on PostgreSQL, else by INSERT."""

from collections.abc import Callable
from functools import lru_cache, partial
from typing import NamedTuple

from django.db import connection, models
from django.db.models.base import ModelState

from shared.columns import reader_of

BATCH_ROWS = 500
# below it one INSERT takes less than beginning a COPY
COPIED_FROM_ROWS = 50


def like(pattern, **values):
    """Return an unsaved row like ``pattern`` but for ``values``, by column.

    It takes a fifth of what making one anew does.
    """
    made = object.__new__(type(pattern))
    made.__dict__ = pattern.__dict__ | values | {"_state": ModelState()}
    return made


def among(rows, column, ids):
    """Return those of ``rows`` whose column, a UUID, is one of ``ids``."""
    if connection.vendor != "postgresql":
        return rows.filter(**{f"{column}__in": ids})
    # one value however many ids, which spares a parameter for each
    told = "{" + ",".join(one.hex for one in ids) + "}"
    return rows.extra(where=[f"{column} = ANY(%s::uuid[])"], params=[told])


def insert_rows(model, rows):
    """Insert new rows of one model; what the database gives them stays unknown here.

    Raises IntegrityError as any INSERT does.
    """
    if connection.vendor != "postgresql":
        model._base_manager.bulk_create(rows, batch_size=BATCH_ROWS)
    elif len(rows) < COPIED_FROM_ROWS:
        _insert(_writing(model), rows)
    else:
        _copy(_writing(model), rows)
    alias = connection.alias
    for row in rows:
        # else saving it again would be an INSERT
        row._state.adding, row._state.db = False, alias


def _insert(writing, rows):
    one = f"({', '.join(['%s'] * len(writing.types))})"
    statement = f"INSERT INTO {writing.place} VALUES {', '.join([one] * len(rows))}"
    with connection.cursor() as cursor:
        cursor.execute(statement, [cell for row in rows for cell in writing.cells_of(row)])


def _copy(writing, rows):
    statement = f"COPY {writing.place} FROM STDIN (FORMAT BINARY)"
    with (
        connection.cursor() as cursor,
        connection.wrap_database_errors,
        cursor.copy(statement) as copy,
    ):
        copy.set_types(writing.types)
        for row in rows:
            copy.write_row(writing.cells_of(row))


class _Writing(NamedTuple):
    """A table with its columns, as SQL; the columns' types; a function of a row's cells."""

    place: str
    types: list[str]
    cells_of: Callable


@lru_cache
def _writing(model):
    fields = [field for field in model._meta.concrete_fields if not _is_given(field)]
    quoted = connection.ops.quote_name
    names = ", ".join(quoted(field.column) for field in fields)
    types = [field.db_type(connection).split("(")[0].strip() for field in fields]
    return _Writing(f"{quoted(model._meta.db_table)} ({names})", types, _cells_of(fields))


def _is_given(field):
    return isinstance(field, models.AutoField)


def _cells_of(fields):
    values_of = reader_of(field.attname for field in fields)
    saved = [
        (place, partial(field.get_db_prep_save, connection=connection))
        for place, field in enumerate(fields)
        if isinstance(field, models.JSONField)
    ]
    if not saved:
        return values_of

    def cells_of(row):
        cells = list(values_of(row))
        for place, save in saved:
            cells[place] = save(cells[place])
        return cells

    return cells_of
