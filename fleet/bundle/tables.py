"""All tables of the bundle in their order: the fleet's own, and those that apps add."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cart_tables import LATE_LIST, RECHECKS, REGISTER
from fleet.bundle.columns import Column, Table
from fleet.bundle.site_tables import CORRECTIONS, PEOPLE, RULES
from fleet.bundle.visit_tables import FINDINGS, READINGS, REPORTS, ROUNDS, TAGS
from fleet.kinds import register

OWN = (
    REGISTER,
    LATE_LIST,
    RECHECKS,
    ROUNDS,
    FINDINGS,
    TAGS,
    REPORTS,
    READINGS,
    CORRECTIONS,
    PEOPLE,
    RULES,
)


def all_tables() -> list[Table]:
    return [*OWN, *register.bundle_tables]


def column_rows(scope):
    """Yield the columns of every table: what the bundle says of itself."""
    for table in (*all_tables(), COLUMNS):
        for column in table.columns:
            yield {
                "file": table.name,
                "column": column.name,
                "meaning": column.meaning,
                "unit": column.unit,
            }


COLUMNS = Table(
    "columns.csv",
    _("what each column means, and its unit"),
    (
        Column("file", _("the file")),
        Column("column", _("the column")),
        Column("meaning", _("what it means")),
        Column("unit", _("unit or form of its values; empty: words")),
    ),
    column_rows,
    per_cart=False,
)
