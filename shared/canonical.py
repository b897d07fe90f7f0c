"""A fact with its lines as canonical bytes (RFC 8785), the form that the journal seals.

Decimals and moments are strings: a decimal with exactly the places of its column, a
moment in UTC with microseconds. People, sites, carts and other rows stand as their id.
"""

from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple
from uuid import UUID

import orjson
import rfc8785

from shared.columns import reader_of

# RFC 7493 2.2: beyond this a reader may lose digits
LARGEST_INT = 2**53 - 1
KEPT_MOMENTS = 1024
WRITTEN_AS_IS = {type(None), bool, int, str, UUID, orjson.Fragment}
REWORDED = {"DecimalField", "DateTimeField", "DateField", "JSONField"}
QUICK = orjson.OPT_SORT_KEYS | orjson.OPT_STRICT_INTEGER


def body_of(fact, lines) -> bytes:
    """Return the canonical bytes of ``fact`` and its ``lines``, by kind and place."""
    said = _values(fact, (), ("kind", "lines"))
    said["kind"] = fact.kind()
    said["lines"] = [_of_line(line) for line in sorted(lines, key=_place)]
    try:
        return orjson.dumps(said, option=orjson.OPT_STRICT_INTEGER)
    except orjson.JSONEncodeError as error:
        raise ValueError(f"{fact.kind()} {fact.pk} cannot be sealed: {error}") from error


def _place(line):
    return line._meta.label_lower, line.place


def _of_line(line):
    said = _values(line, ("id", "fact"), ("of",))
    said["of"] = line._meta.label_lower
    return said


def canonical(value) -> bytes:
    """Return the RFC 8785 bytes of plain JSON.

    orjson gives the same bytes, many times as fast, where there is no float and no key
    beyond ASCII (whose order RFC 8785 takes from UTF-16).

    Raises ValueError for an int beyond 2^53 - 1, or text that is not Unicode.
    """
    if not _is_simple(value):
        return rfc8785.dumps(value)
    try:
        return orjson.dumps(value, option=QUICK)
    except orjson.JSONEncodeError:
        # too deep for it, or refused by both
        return rfc8785.dumps(value)


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


def _values(row, left_out, more):
    """Return the plain values of a row by name, with None for ``more`` names, in their order."""
    columns = _columns(type(row), left_out, more)
    said = columns.empty.copy()
    said.update(zip(columns.names, columns.values_of(row), strict=True))
    for name, field in columns.reworded:
        if said[name] is not None:
            said[name] = _plain_json(field, said[name])
    if not WRITTEN_AS_IS.issuperset(map(type, said.values())):
        for name, field in columns.fields.items():
            if type(said[name]) not in WRITTEN_AS_IS:
                said[name] = _plain_json(field, said[name])
    # a column that came after rows of this kind were sealed, and says nothing here
    for name in row.added_later:
        if said[name] is None:
            del said[name]
    return said


class _Columns(NamedTuple):
    """What is known of a model's columns; ``reworded`` are those whose values never go as is."""

    empty: dict
    names: list
    values_of: Callable
    fields: dict
    reworded: list


@lru_cache
def _columns(model, left_out, more):
    fields = {one.name: one for one in model._meta.concrete_fields if one.name not in left_out}
    # written in the order of the names, which spares sorting each row
    empty = dict.fromkeys(sorted([*more, *fields]))
    values_of = reader_of(field.attname for field in fields.values())
    reworded = [pair for pair in fields.items() if pair[1].get_internal_type() in REWORDED]
    return _Columns(empty, list(fields), values_of, fields, reworded)


def _plain_json(field, value):
    value = plain(field, value)
    # its keys may be beyond ASCII
    return orjson.Fragment(canonical(value)) if type(value) in (list, dict) else value


def plain(field, value):
    """Return ``value`` of ``field`` as JSON that reads back the same from any database.

    Raises TypeError for what has no such form: a float loses digits on its way.
    """
    if isinstance(value, datetime):
        return _in_utc(value) if value.tzinfo is UTC else _in_utc(value.astimezone(UTC))
    if isinstance(value, Decimal):
        return f"{value:.{field.decimal_places}f}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, list | dict):
        return _without_floats(field, value)
    raise TypeError(f"{field.name} cannot be sealed as {type(value).__name__}")


@lru_cache(KEPT_MOMENTS)
def _in_utc(moment):
    return moment.isoformat(timespec="microseconds")


def _without_floats(field, value):
    if isinstance(value, list):
        return [_without_floats(field, item) for item in value]
    if isinstance(value, dict):
        return {key: _without_floats(field, item) for key, item in value.items()}
    if value is None or isinstance(value, bool | int | str):
        return value
    raise TypeError(f"{field.name} cannot be sealed with a {type(value).__name__} in it")
