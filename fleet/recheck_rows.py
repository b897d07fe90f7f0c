"""Rechecks as plain rows: a fleet has many, and an instance costs ten times a row."""

from collections import namedtuple

from fleet.models import Recheck

COLUMNS = tuple(field.attname for field in Recheck._meta.concrete_fields)


class RecheckRow(namedtuple("RecheckRow", COLUMNS)):
    """All columns of a Recheck, by name."""

    __slots__ = ()
    _meta = Recheck._meta

    @property
    def pk(self):
        return self.id
