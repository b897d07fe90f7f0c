"""Meter readings as plain rows: of these a cart has many, and an instance costs ten times a row."""

from collections import namedtuple

from fleet.models import Reading

COLUMNS = tuple(field.attname for field in Reading._meta.concrete_fields)


class ReadingRow(namedtuple("ReadingRow", COLUMNS)):
    """All columns of a Reading, by name."""

    __slots__ = ()
    _meta = Reading._meta
    kind = staticmethod(Reading.kind)

    @property
    def pk(self):
        return self.id


def reading_rows(readings):
    """Yield the rows of a query of readings."""
    return map(ReadingRow._make, readings.values_list(*COLUMNS))
