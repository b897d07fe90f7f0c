"""Draws a table's rows: what is alike in all rows of a column is worked out once a page.

The cells are those that django_tables2 draws one by one: a value that its accessor finds,
a choice in words, a default for an empty one, and the table's own render_ method.
"""

from collections.abc import Callable
from operator import attrgetter

from django.db import models
from django.utils.formats import localize
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import mark_safe
from django.utils.timezone import template_localtime
from django_tables2.utils import A, signature

ROW_START, ROW_END, CELL_END = "<tr>\n", "</tr>\n", "</td>\n"


def drawn_rows(table):
    """Yield each row of the page that is shown, as HTML."""
    columns = [(_cell_start(column), drawer(column)) for column in table.columns]
    for row in table.paginated_rows:
        cells = [f"{start}{_drawn(draw(row))}{CELL_END}" for start, draw in columns]
        yield mark_safe("".join((ROW_START, *cells, ROW_END)))


def _cell_start(column):
    attrs = column.attrs["td"].as_html()
    return format_html('<td {} data-label="{}">', attrs, column.header)


def _drawn(cell):
    """Return a cell as a template would draw it."""
    if not isinstance(cell, str):
        cell = localize(template_localtime(cell))
    return conditional_escape(cell)


def drawer(column) -> Callable:
    """Return what draws a column's cell of a row, behind its link if it has one."""
    if column.link is None:
        return sayer(column, column.render, column.default)
    render = caller(column.render)

    def linked(**about):
        return column.link(render(about), **about)

    return sayer(column, linked, column.default)


def sayer(column, say, default) -> Callable:
    """Return what says a column's value in a row by ``say``, or the default for an empty one."""
    find, call, empty = Finder(column.accessor), caller(say), column.column.empty_values
    about = {"column": column.column, "bound_column": column, "table": column._table}

    def said(row):
        value = find(row.record)
        if value in empty:
            return default
        return call({"value": value, "record": row.record, "bound_row": row, **about})

    return said


def caller(act) -> Callable:
    """Return what calls ``act`` with those of some named values that it takes."""
    names, takes_all = signature(act)
    if takes_all:
        return lambda about: act(**about)
    return lambda about: act(**{name: about[name] for name in names})


class Finder:
    """Finds what an accessor names in records; of a field with choices its words."""

    def __init__(self, accessor):
        self.accessor = A(accessor)
        self.ways = {}

    def __call__(self, record):
        way = self.ways.get(type(record))
        if way is None:
            way = self.ways[type(record)] = self._way_in(record)
        return way(record)

    def _way_in(self, record):
        if not isinstance(record, models.Model):
            return self._resolve
        field = self.accessor.get_field(record)
        if getattr(field, "choices", ()):
            return self._worder()
        # what is a column of the row's own needs no search
        own = record._meta.concrete_fields
        is_own = any(self.accessor in (one.name, one.attname) for one in own)
        return attrgetter(self.accessor) if is_own else self._resolve

    def _resolve(self, record):
        return self.accessor.resolve(record, quiet=True)

    def _worder(self):
        words = {}

        def worded(record):
            holder, name = self.accessor.penultimate(record)
            display = getattr(holder, f"get_{name}_display", None)
            if display is None:
                return self._resolve(record)
            value = getattr(holder, name)
            if value not in words:
                words[value] = display()
            return words[value]

        return worded
