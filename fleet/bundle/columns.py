"""The columns of the bundle: each file's, with what they mean and their unit."""

from collections.abc import Callable
from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

MOMENT, DAY, YES_NO = "moment", "day", "yes/no"
STRING, DECIMAL, DATE = "string", "decimal", "date"
MOMENT_FORM = {
    "base": STRING,
    "format": r"\d{4}-\d\d-\d\d(T\d\d:\d\d:\d\d[+-]\d\d:\d\d)?",
}
YES_NO_FORM = {"base": "boolean", "format": "yes|no"}
BY_UNIT = {MOMENT: MOMENT_FORM, DAY: DATE, YES_NO: YES_NO_FORM}


@dataclass(frozen=True)
class Column:
    """One column of one file. A ``numeric`` one holds plain figures with a decimal point.

    ``field`` names the field in the body of the row's entry that the cell repeats, with
    ``in_line`` the one in the row's line of that body, found by its fields of and place;
    ``datatype`` is the one of W3C CSVW, where unit and ``numeric`` do not say it.
    """

    name: str
    meaning: str
    unit: str = ""
    numeric: bool = False
    field: str = ""
    in_line: bool = False
    datatype: str | dict | None = None

    @property
    def csvw_datatype(self):
        return self.datatype or BY_UNIT.get(self.unit) or (DECIMAL if self.numeric else STRING)


@dataclass(frozen=True)
class Table:
    """One CSV file of the bundle.

    ``rows`` yields a dict for each line, with a value for every column. It is called
    with each Batch of carts where ``per_cart`` is set, else once with the Scope. Where
    ``gather`` is given, it makes of the Scope what takes every Batch, and ``rows`` is called
    with that and {file: lines written} once, after the last.
    ``entry`` names the column with the id of the one entry that a row tells of, ``key``
    the columns that no two rows share.
    """

    name: str
    about: str
    columns: tuple[Column, ...]
    rows: Callable
    per_cart: bool = True
    entry: str = ""
    key: tuple[str, ...] = ()
    gather: Callable | None = None

    @property
    def names(self):
        return [column.name for column in self.columns]


def number(name, meaning, unit="", **more):
    return Column(name, meaning, unit, numeric=True, **more)


CART = (
    Column("cart_id", _("the cart for good; its painted number may be used again"), field="cart"),
    Column("cart", _("painted number then")),
)
WHO_AND_WHEN = (
    Column(
        "done_at",
        _("when it happened; a day alone where no time was written"),
        MOMENT,
        field="done_at",
    ),
    Column("by", _("who recorded it")),
)
ARRIVAL = (
    Column("written_at", _("when it was written down"), MOMENT, field="written_at"),
    Column("received_at", _("when it arrived here"), MOMENT, field="received_at"),
    Column(
        "brought_in",
        _("brought in from earlier records; known only since it arrived"),
        YES_NO,
        field="brought_in",
    ),
    Column("corrects", _("the entry that this one replaces"), field="corrects"),
    Column("why_corrected", _("why that was replaced"), field="why_corrected"),
)
