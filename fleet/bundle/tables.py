"""All tables of the bundle in their order: the fleet's own, and those that apps add."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cart_tables import LATE_LIST, RECHECKS, REGISTER
from fleet.bundle.columns import Column, Table
from fleet.bundle.correction_tables import CORRECTIONS, MOVES, SOFTENED
from fleet.bundle.exception_tables import (
    ESTIMATED_DUE,
    ESTIMATES,
    NOT_TOLD,
    PART_CLOSED,
    SAME_PERSON,
    STOPPED_MOVING,
    UNPROVEN,
)
from fleet.bundle.figures import FIGURES
from fleet.bundle.gap_tables import GAPS, NOT_RECORDED
from fleet.bundle.late_tables import LATE_WRITTEN
from fleet.bundle.questions import QUESTION_LIST
from fleet.bundle.rest_tables import LAY_UPS, TAGGED_MOVING
from fleet.bundle.rule_tables import RULE_CHANGES, RULES
from fleet.bundle.site_tables import PEOPLE, RESTORES, SIGNING_KEYS, SITE_CHANGES
from fleet.bundle.visit_tables import FINDINGS, READINGS, REPORTS, ROUNDS, TAGS
from fleet.kinds import register

EXCEPTIONS = (
    LATE_LIST,
    STOPPED_MOVING,
    TAGGED_MOVING,
    LAY_UPS,
    TAGS,
    SAME_PERSON,
    LATE_WRITTEN,
    CORRECTIONS,
    SOFTENED,
    ESTIMATES,
    ESTIMATED_DUE,
    PART_CLOSED,
    MOVES,
    UNPROVEN,
    NOT_TOLD,
    GAPS,
    NOT_RECORDED,
)
RECORDS = (REGISTER, RECHECKS, ROUNDS, FINDINGS, REPORTS, READINGS)
OF_SITE = (PEOPLE, RULES, RULE_CHANGES, SITE_CHANGES, SIGNING_KEYS, RESTORES)


def all_tables() -> list[Table]:
    return [FIGURES, QUESTION_LIST, *EXCEPTIONS, *RECORDS, *OF_SITE, *register.bundle_tables]


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
    key=("file", "column"),
)
