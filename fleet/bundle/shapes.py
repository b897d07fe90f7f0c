"""The shape of most tables: a row for each fact, most of its cells read off that fact."""

from functools import cache
from operator import attrgetter

from django.db.models import DateTimeField
from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import done_at, moment
from fleet.bundle.columns import ARRIVAL, CART, WHO_AND_WHEN, Column, Table


def said(name, meaning, unit="", *, field="", numeric=False) -> Column:
    """Return a column that repeats a field of the row's entry, the one of its own name."""
    return Column(name, meaning, unit, numeric, field or name)


def said_in_line(name, meaning, unit="", *, field="", numeric=False) -> Column:
    """Return a column that repeats a field of the row's line in its entry."""
    return Column(name, meaning, unit, numeric, field or name, in_line=True)


OF_LINE = (
    said_in_line("of", _("the kind of line of the entry")),
    said_in_line("place", _("its place among the lines of the entry"), numeric=True),
)
# of a change of the register, whose entry names its cart in another field
ANY_CART = (Column("cart_id", CART[0].meaning), CART[1])


def fact_table(name, about, id_column, columns, told, *, cart=CART) -> Table:
    """Return a table with a row for each fact, named by its id in ``id_column``.

    ``told(batch)`` yields (cart, fact, cells). A column with a ``field`` is read off the
    fact, so that it says what the fact's entry says; ``cells`` are the others.
    """
    columns = (*cart, id_column, *WHO_AND_WHEN, *columns, *ARRIVAL)

    read = _reader(columns)

    def rows(batch):
        for cart, fact, cells in told(batch):
            named = cart.named(fact.done_at)
            yield {**named, **read(fact, batch.scope), **cells}

    return Table(name, about, columns, rows, entry=id_column.name, key=(id_column.name,))


def site_fact_table(name, about, id_column, columns, told) -> Table:
    """Return a table like that of ``fact_table``, of facts that are about no cart.

    ``told(scope)`` yields (fact, cells). However old, they are told whole.
    """
    columns = (id_column, *WHO_AND_WHEN, *columns, *ARRIVAL)
    read = _reader(columns)

    def rows(scope):
        for fact, cells in told(scope):
            yield {**read(fact, scope), **cells}

    key = (id_column.name,)
    return Table(name, about, columns, rows, per_cart=False, entry=id_column.name, key=key)


def _reader(columns):
    """Return what reads the cells off a fact that repeat its entry, and who recorded it."""
    told = [column for column in columns if column.field and not column.in_line]
    said_in = cache(lambda model: SaidIn(model, told))

    def read(fact, scope):
        return {"by": scope.name(fact.by_id), **said_in(type(fact)).cells(fact, scope.zone)}

    return read


def said_by(fact, columns, zone) -> dict:
    """Return the cells of the columns that repeat a field of the fact's entry."""
    told = [column for column in columns if column.field and not column.in_line]
    return SaidIn(type(fact), told).cells(fact, zone)


class SaidIn:
    """Reads the cells of columns that repeat fields off facts of one model."""

    def __init__(self, model, columns):
        self.names = [column.name for column in columns]
        fields = [model._meta.get_field(column.field) for column in columns]
        # with only one, an attrgetter returns no tuple
        self.values = attrgetter("day_only", *(field.attname for field in fields))
        named = list(zip(self.names, fields, strict=True))
        self.moments = [name for name, field in named if isinstance(field, DateTimeField)]
        self.happened = [name for name, field in named if field.attname == "done_at"]

    def cells(self, fact, zone):
        day_only, *values = self.values(fact)
        cells = dict(zip(self.names, values, strict=True))
        for name in self.moments:
            cells[name] = moment(cells[name], zone)
        if day_only:
            cells |= dict.fromkeys(self.happened, done_at(fact, zone))
        return cells


def said_by_line(line, columns) -> dict:
    """Return the cells of the columns that repeat a field of a line; empty for one it lacks."""
    told = {"of": line._meta.label_lower, **vars(line)}
    return {column.name: told.get(column.field) for column in columns if column.in_line}


def read_off(thing, columns) -> dict:
    """Return the cells of columns that are attributes of one thing; empty ones of nothing."""
    return {column.name: getattr(thing, column.name, None) for column in columns}


def blank(columns) -> dict:
    return dict.fromkeys((column.name for column in columns), "")
