"""Meter readings as plain rows, of a query of one's own."""

from fleet.models import Reading
from shared.standing import columns_of, row_of


def reading_rows(readings):
    """Yield the rows of a query of readings."""
    columns = columns_of(Reading)
    return map(row_of(Reading, columns)._make, readings.values_list(*columns))
