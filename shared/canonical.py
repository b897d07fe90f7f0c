"""A fact with its lines as canonical bytes (RFC 8785), the form that the journal seals.

Decimals and moments are strings: a decimal with exactly the places of its column, a
moment in UTC with microseconds. People, sites, carts and other rows stand as their id.
"""

import json
from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import UUID

import rfc8785

# RFC 7493 2.2: beyond this a reader may lose digits
LARGEST_INT = 2**53 - 1


def body_of(fact, lines) -> bytes:
    """Return the canonical bytes of ``fact`` and its ``lines``, by kind and place."""
    in_place = sorted(lines, key=lambda line: (line._meta.label_lower, line.place))
    return canonical(
        {
            "kind": fact.kind(),
            **_values(fact, left_out=()),
            "lines": [
                {"of": line._meta.label_lower, **_values(line, left_out=("id", "fact"))}
                for line in in_place
            ],
        }
    )


def canonical(value) -> bytes:
    """Return the RFC 8785 bytes of plain JSON.

    Python's own writer gives the same bytes, several times as fast, where there is no
    float and no key beyond ASCII (whose order RFC 8785 takes from UTF-16).

    Raises ValueError for an int beyond 2^53 - 1, or text that is not Unicode.
    """
    if not _is_simple(value):
        return rfc8785.dumps(value)
    text = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return text.encode("utf-8")


def _is_simple(value):
    if value is None or isinstance(value, str | bool):
        return True
    if isinstance(value, int):
        return abs(value) <= LARGEST_INT
    if isinstance(value, list):
        return all(_is_simple(item) for item in value)
    if isinstance(value, dict):
        return all(
            isinstance(key, str) and key.isascii() and _is_simple(item)
            for key, item in value.items()
        )
    return False


def _values(row, left_out):
    return {
        field.name: plain(field, getattr(row, field.attname))
        for field in row._meta.concrete_fields
        if field.name not in left_out and not _is_of_later(row, field)
    }


def _is_of_later(row, field):
    """Whether the column came after rows of this kind were sealed, and says nothing here."""
    return field.name in row.added_later and getattr(row, field.attname) is None


def plain(field, value):
    """Return ``value`` of ``field`` as JSON that reads back the same from any database.

    Raises TypeError for what has no such form: a float loses digits on its way.
    """
    if isinstance(value, Decimal):
        return format(value.quantize(Decimal(1).scaleb(-field.decimal_places)), "f")
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, list | dict):
        return _without_floats(field, value)
    raise TypeError(f"{field.name} cannot be sealed as {type(value).__name__}")


def _without_floats(field, value):
    if isinstance(value, list):
        return [_without_floats(field, item) for item in value]
    if isinstance(value, dict):
        return {key: _without_floats(field, item) for key, item in value.items()}
    if value is None or isinstance(value, bool | int | str):
        return value
    raise TypeError(f"{field.name} cannot be sealed with a {type(value).__name__} in it")
