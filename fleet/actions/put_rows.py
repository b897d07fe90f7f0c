"""Puts projected rows into their table, new ones and changed ones in one statement.

On PostgreSQL a column goes as one array: a statement of five hundred rows costs a third of
the same values one by one. SQLite has no arrays, and gets the same rows by Django's own way.
"""

import json
from functools import cache

from django.db import connection

BATCH_ROWS = 500


def put(model, columns, rows):
    """Insert rows, tuples of the columns of which the first is the id, or put them in place."""
    write = _by_arrays if connection.vendor == "postgresql" else _by_values
    rows = sorted(rows, key=lambda row: row[0])
    for start in range(0, len(rows), BATCH_ROWS):
        write(model, tuple(columns), rows[start : start + BATCH_ROWS])


def _by_values(model, columns, rows):
    model.objects.bulk_create(
        [model(**dict(zip(columns, row, strict=True))) for row in rows],
        update_conflicts=True,
        unique_fields=[columns[0]],
        update_fields=columns[1:],
    )


def _by_arrays(model, columns, rows):
    said = [
        [None if value is None else plain(value) for value in values] if plain else list(values)
        for plain, values in zip(_plain(model, columns), zip(*rows, strict=True), strict=True)
    ]
    with connection.cursor() as cursor:
        cursor.execute(_statement(model, columns), said)


@cache
def _types(model, columns):
    # without its length: a cast to it would cut a longer text short
    fields = {field.attname: field for field in model._meta.concrete_fields}
    return [fields[name].db_type(connection).partition("(")[0] for name in columns]


def _plain(model, columns):
    """Return what makes of each column's values what the driver takes, None for as it is."""
    by_type = {"jsonb": json.dumps, "varchar": str}
    return [by_type.get(kind) for kind in _types(model, columns)]


@cache
def _statement(model, columns):
    names, kinds = ", ".join(f'"{name}"' for name in columns), _types(model, columns)
    arrays = ("%s::text[]" if kind == "jsonb" else f"%s::{kind}[]" for kind in kinds)
    taken = (
        f'"{name}"::jsonb' if kind == "jsonb" else f'"{name}"'
        for name, kind in zip(columns, kinds, strict=True)
    )
    changed = ", ".join(f'"{name}" = EXCLUDED."{name}"' for name in columns[1:])
    return (
        f"INSERT INTO {model._meta.db_table} ({names}) SELECT {', '.join(taken)}"
        f" FROM unnest({', '.join(arrays)}) AS told ({names})"
        f' ON CONFLICT ("{columns[0]}") DO UPDATE SET {changed}'
    )
