"""The columns of the bundle: each file's, with what they mean and their unit."""

from collections.abc import Callable
from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True)
class Column:
    """One column of one file. A ``numeric`` one holds plain figures with a decimal point."""

    name: str
    meaning: str
    unit: str = ""
    numeric: bool = False


@dataclass(frozen=True)
class Table:
    """One CSV file of the bundle.

    ``rows`` yields a dict for each line, with a value for every column. It is called
    with each Batch of carts where ``per_cart`` is set, else once with the Scope.
    """

    name: str
    about: str
    columns: tuple[Column, ...]
    rows: Callable
    per_cart: bool = True

    @property
    def names(self):
        return [column.name for column in self.columns]


def number(name, meaning, unit=""):
    return Column(name, meaning, unit, numeric=True)


MOMENT, DAY, YES_NO = "moment", "day", "yes/no"

CART = (
    Column("cart_id", _("the cart for good; its painted number may be used again")),
    Column("cart", _("painted number then")),
)
WHO_AND_WHEN = (
    Column("done_at", _("when it happened; a day alone where no time was written"), MOMENT),
    Column("by", _("who recorded it")),
)
ARRIVAL = (
    Column("written_at", _("when it was written down"), MOMENT),
    Column("received_at", _("when it arrived here"), MOMENT),
    Column("brought_in", _("brought in from earlier records; known only since it arrived"), YES_NO),
    Column("corrects", _("the entry that this one replaces")),
    Column("why_corrected", _("why that was replaced")),
)
