"""Of which kinds anything is recorded about some carts: one statement for all tables."""

from functools import cache

from django.db import connection

from shared.standing import IS_ONE_OF, as_asked


def told_of(cart_ids, models):
    """Return those of the models with a fact about any of the carts, taken back or not."""
    models = tuple(models)
    if not cart_ids:
        return set()
    with connection.cursor() as cursor:
        cursor.execute(_question(connection.vendor, models), {"ids": as_asked(cart_ids)})
        answers = cursor.fetchone()
    return {model for model, is_told in zip(models, answers, strict=True) if is_told}


@cache
def _question(vendor, models):
    tables = (model._meta.db_table for model in models)
    each = (f"EXISTS (SELECT 1 FROM {table} WHERE cart_id {IS_ONE_OF[vendor]})" for table in tables)
    return "SELECT " + ", ".join(each)
