"""Bring values to what their column will hold, so that a row read back is the one sealed."""

from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from decimal import Decimal
from functools import lru_cache, partial
from operator import itemgetter
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone


def fit_to_columns(row):
    """Turn each value of ``row`` into its column's type, decimals rounded to its places.

    Raises ValueError for a value that one of the two databases would refuse or change.
    """
    values_of, fits = _columns(type(row))
    for value, (name, as_it_is, fit) in zip(values_of(row), fits, strict=True):
        if value is not None and type(value) is not as_it_is:
            fitting = fit(value)
            if fitting is not value:
                setattr(row, name, fitting)


def reader_of(names: Iterable[str]) -> Callable:
    """Return a function of a row that reads these columns, two or more, all of them loaded.

    Past Django's descriptors, which are Python and are called for each foreign key.
    """
    read = itemgetter(*names)
    return lambda row: read(row.__dict__)


@lru_cache
def _columns(model):
    """Return what reads a row, and (name, type that fits as it is, fit) of each column."""
    names = [field.attname for field in model._meta.concrete_fields]
    targets = [_target(field) for field in model._meta.concrete_fields]
    as_they_are = [FITS_AS_IT_IS.get(type(target)) for target in targets]
    fits = zip(names, as_they_are, map(_fit_of, targets), strict=True)
    return reader_of(names), list(fits)


FITS_AS_IT_IS = {models.UUIDField: UUID, models.BooleanField: bool}


def _fit_of(field):
    if type(field) in (models.CharField, models.TextField):
        return partial(_fit_text, field)
    if type(field) is models.DateTimeField:
        return partial(_fit_moment, field)
    if isinstance(field, models.DecimalField):
        too_large = Decimal(10) ** (field.max_digits - field.decimal_places)
        return partial(_fit_number, field, too_large)
    return partial(_fit, field)


def _fit_text(field, value):
    if type(value) is not str:
        return _fit(field, value)
    _refuse_text(field, value)
    return value


def _fit_moment(field, value):
    return value if type(value) is datetime and value.tzinfo is UTC else _fit(field, value)


def _target(field):
    while field.is_relation:
        field = field.target_field
    return field


def _fit_number(field, too_large, value):
    if type(value) is not Decimal or not value.is_finite():
        value = _in_python(field, value)
    value = round(value, field.decimal_places)
    if not value:
        return abs(value)  # PostgreSQL forgets the sign of a zero
    if abs(value) >= too_large:
        raise ValueError(f"{field.name} has more than {field.max_digits} digits: {value}")
    return value


def _in_python(field, value):
    try:
        return field.to_python(value)
    except ValidationError as error:
        raise ValueError(f"{field.name} cannot hold {value!r}") from error


def _fit(field, value):
    value = _in_python(field, value)
    if isinstance(value, str):
        _refuse_text(field, value)
    if isinstance(field, models.DateTimeField) and timezone.is_naive(value):
        raise ValueError(f"{field.name} needs a time zone: {value}")
    return value


def _refuse_text(field, value):
    # SQLite would keep both, PostgreSQL neither
    if "\0" in value:
        raise ValueError(f"{field.name} holds a NUL character")
    if field.max_length is not None and len(value) > field.max_length:
        raise ValueError(f"{field.name} is longer than {field.max_length}: {value!r}")
