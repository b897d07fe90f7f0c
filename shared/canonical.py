"""A fact with its lines as canonical bytes (RFC 8785), the form that the journal seals.

Decimals and moments are strings: a decimal with exactly the places of its column, a
moment in UTC with microseconds. People, sites, carts and other rows stand as their id.
"""

from datetime import UTC, date, datetime
from decimal import Decimal

import rfc8785


def body_of(fact, lines) -> bytes:
    """Return the canonical bytes of ``fact`` and its ``lines``, in their order."""
    return rfc8785.dumps(
        {
            "kind": fact.kind(),
            **_values(fact, left_out=()),
            "lines": [
                {"of": line._meta.label_lower, **_values(line, left_out=("id", "fact"))}
                for line in lines
            ],
        }
    )


def _values(row, left_out):
    return {
        field.name: plain(field, getattr(row, field.attname))
        for field in row._meta.concrete_fields
        if field.name not in left_out
    }


def plain(field, value):
    """Return ``value`` of ``field`` as JSON that reads back the same from any database."""
    if isinstance(value, Decimal):
        return format(value.quantize(Decimal(1).scaleb(-field.decimal_places)), "f")
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, date):
        return value.isoformat()
    if value is None or isinstance(value, bool | int | str | list | dict):
        return value
    return str(value)
