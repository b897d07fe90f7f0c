"""The standing facts of carts by a ready statement, which Django would compile anew each time."""

import json
from functools import cache

from django.db import connection

from shared.models import Entry

IS_ONE_OF = {
    "postgresql": "= ANY(%(ids)s)",
    "sqlite": "IN (SELECT value FROM json_each(%(ids)s))",
}


def standing_facts(model, cart_ids, happened_by, known_by) -> list:
    """Return the facts of carts that had happened, were known and stood, by time."""
    asked = {"ids": as_asked(cart_ids), "happened_by": happened_by, "known_by": known_by}
    return list(model.objects.raw(_facts(connection.vendor, model), asked)) if cart_ids else []


def lines_told(model, fact_ids) -> list:
    """Return the lines of facts, fact by fact in their places."""
    asked = {"ids": as_asked(fact_ids)}
    return list(model.objects.raw(_lines(connection.vendor, model), asked)) if fact_ids else []


def as_asked(ids):
    """Return ids as the one parameter that IS_ONE_OF takes, however many they are."""
    ids = list(ids)
    return ids if connection.vendor == "postgresql" else json.dumps([one.hex for one in ids])


@cache
def _facts(vendor, model):
    return (
        f"SELECT {_columns(model)} FROM {model._meta.db_table} AS told"
        f" WHERE cart_id {IS_ONE_OF[vendor]}"
        " AND done_at <= %(happened_by)s AND received_at <= %(known_by)s"
        f" AND NOT EXISTS (SELECT 1 FROM {Entry._meta.db_table} AS later"
        " WHERE later.corrects = told.id AND later.received_at <= %(known_by)s)"
        " ORDER BY done_at, id"
    )


@cache
def _lines(vendor, model):
    return (
        f"SELECT {_columns(model)} FROM {model._meta.db_table}"
        f" WHERE fact_id {IS_ONE_OF[vendor]} ORDER BY fact_id, place"
    )


def _columns(model):
    return ", ".join(f'"{field.column}"' for field in model._meta.concrete_fields)
