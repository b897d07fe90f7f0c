"""The standing facts of carts by a ready statement, which Django would compile anew each time.

Of facts a cart has many, and an instance costs ten times a row.
"""

import json
from collections import namedtuple
from functools import cache

from django.db import connection

from shared.models import Entry

IS_ONE_OF = {
    "postgresql": "= ANY(%(ids)s)",
    "sqlite": "IN (SELECT value FROM json_each(%(ids)s))",
}


def standing_facts(model, cart_ids, happened_by, known_by) -> list:
    """Return the facts of carts that had happened, were known and stood, by time."""
    if not cart_ids:
        return []
    statement = _facts(connection.vendor, model, columns_of(model))
    return list(model.objects.raw(statement, _asked(cart_ids, happened_by, known_by)))


def standing_rows(model, cart_ids, happened_by, known_by, columns=None) -> list:
    """Return the same facts as plain rows; of a few ``columns``, where these are enough."""
    if not cart_ids:
        return []
    columns = columns or columns_of(model)
    statement = _facts(connection.vendor, model, columns)
    return _rows(model, columns, statement, _asked(cart_ids, happened_by, known_by))


def _rows(model, columns, statement, asked):
    with connection.cursor() as cursor:
        cursor.execute(statement, asked)
        read = cursor.fetchall()
    return list(map(row_of(model, columns)._make, _as_python(model, columns, read)))


@cache
def columns_of(model) -> tuple[str, ...]:
    return tuple(field.attname for field in model._meta.concrete_fields)


@cache
def row_of(model, columns):
    """Return what holds a plain row of a model: its columns by name, and its key as ``pk``."""
    row = namedtuple(f"{model.__name__}Row", columns)
    row._meta = model._meta
    if hasattr(model, "kind"):
        row.kind = staticmethod(model.kind)
    if "id" in columns:
        row.pk = row.id
    return row


def _as_python(model, columns, read):
    """Return rows as the model's fields hold them, where the database holds them otherwise."""
    fields = [model._meta.get_field(column).get_col(model._meta.db_table) for column in columns]
    compiler = model.objects.all().query.get_compiler(connection=connection)
    converters = compiler.get_converters(fields)
    return compiler.apply_converters(read, converters) if converters else read


def _asked(cart_ids, happened_by, known_by):
    moment = connection.ops.adapt_datetimefield_value
    times = {"happened_by": moment(happened_by), "known_by": moment(known_by)}
    return {"ids": as_asked(cart_ids), **times}


def lines_told(model, fact_ids) -> list:
    """Return the lines of facts, fact by fact in their places."""
    asked = {"ids": as_asked(fact_ids)}
    statement = _lines(connection.vendor, model, columns_of(model))
    return list(model.objects.raw(statement, asked)) if fact_ids else []


def line_rows(model, fact_ids, columns=None) -> list:
    """Return the same lines as plain rows; of a few ``columns``, where these are enough."""
    if not fact_ids:
        return []
    columns = columns or columns_of(model)
    statement = _lines(connection.vendor, model, columns)
    return _rows(model, columns, statement, {"ids": as_asked(fact_ids)})


def as_asked(ids):
    """Return ids as the one parameter that IS_ONE_OF takes, however many they are."""
    if connection.vendor == "postgresql":
        # as a literal: the driver would quote each of them
        return f"{{{','.join(map(str, ids))}}}"
    return json.dumps([one.hex for one in ids])


@cache
def _facts(vendor, model, columns):
    return (
        f"SELECT {_columns(model, columns)} FROM {model._meta.db_table} AS told"
        f" WHERE cart_id {IS_ONE_OF[vendor]}"
        " AND done_at <= %(happened_by)s AND received_at <= %(known_by)s"
        f" AND NOT EXISTS (SELECT 1 FROM {Entry._meta.db_table} AS later"
        " WHERE later.corrects = told.id AND later.received_at <= %(known_by)s)"
        " ORDER BY done_at, id"
    )


@cache
def _lines(vendor, model, columns):
    return (
        f"SELECT {_columns(model, columns)} FROM {model._meta.db_table}"
        f" WHERE fact_id {IS_ONE_OF[vendor]} ORDER BY fact_id, place"
    )


def _columns(model, columns):
    return ", ".join(f'"{model._meta.get_field(column).column}"' for column in columns)
