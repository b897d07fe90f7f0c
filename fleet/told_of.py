"""Of which kinds anything is recorded about some carts: one statement for all tables."""

import json
from functools import cache

from django.db import connection

IS_ONE_OF = {
    "postgresql": "cart_id = ANY(%(ids)s)",
    "sqlite": "cart_id IN (SELECT value FROM json_each(%(ids)s))",
}


def told_of(cart_ids, models):
    """Return those of the models with a fact about any of the carts, taken back or not."""
    models = tuple(models)
    if not cart_ids:
        return set()
    with connection.cursor() as cursor:
        cursor.execute(_question(connection.vendor, models), {"ids": _as_asked(cart_ids)})
        answers = cursor.fetchone()
    return {model for model, is_told in zip(models, answers, strict=True) if is_told}


@cache
def _question(vendor, models):
    tables = (model._meta.db_table for model in models)
    each = (f"EXISTS (SELECT 1 FROM {table} WHERE {IS_ONE_OF[vendor]})" for table in tables)
    return "SELECT " + ", ".join(each)


def _as_asked(cart_ids):
    if connection.vendor == "postgresql":
        return list(cart_ids)
    return json.dumps([cart_id.hex for cart_id in cart_ids])
