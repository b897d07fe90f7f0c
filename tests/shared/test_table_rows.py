"""Our rows against those that django_tables2 draws cell by cell, byte by byte."""

from datetime import UTC, datetime
from decimal import Decimal

import django_tables2 as tables
import pytest
from django.utils.html import format_html
from django.utils.translation import gettext_lazy

from fleet.models import Cart
from shared.table_rows import drawn_rows, sayer
from shared.tables import BaseTable, NumberColumn
from tests.cell_by_cell import cell_by_cell
from tests.factories import CartFactory


class YardTable(BaseTable):
    number = tables.Column(linkify=True)
    condition = tables.Column()
    kept = tables.Column(accessor="site__units", verbose_name="Site's <units>")
    site_id = tables.Column()
    site_day = tables.Column(accessor="site__name__upper")
    nothing = tables.Column(accessor="no_such__thing", default=gettext_lazy("none"))
    is_lifted = tables.BooleanColumn(attrs={"td": {"class": "wide"}})
    hours_shown = NumberColumn(attrs={"td": {"class": "num wide"}})
    joined_on = tables.Column()
    read_at = tables.Column()
    serial = tables.Column(default="not known")
    marked = tables.Column(accessor="number", empty_values=())
    hidden = tables.Column(accessor="number", visible=False)

    class Meta(BaseTable.Meta):
        pass

    def render_marked(self, value, record, column, bound_column, bound_row, table):
        assert (column, table) == (bound_column.column, self)
        return format_html("<b>{}</b>{}", record, bound_row.record == record)

    def value_marked(self, record):
        return str(record)


def row_by_row(table):
    return "".join(drawn_rows(table))


@pytest.fixture
def carts(db):
    read_at = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)
    CartFactory(number="<7>", bay="& 1", condition=Cart.Condition.LAID_UP, read_at=read_at)
    CartFactory(number="8", hours_shown=Decimal("1234.500"), is_lifted=True)
    return Cart.objects.select_related("site").order_by("number")


def test_drawn_rows_are_those_of_django_tables2(carts):
    table = YardTable(carts)

    assert row_by_row(table) == cell_by_cell(table)
    assert row_by_row(table).count("<td") == 24


def test_drawn_rows_of_a_page_are_those_of_that_page(carts):
    table = YardTable(carts)
    table.paginate(per_page=1, page=2)

    assert row_by_row(table) == cell_by_cell(table)
    assert row_by_row(table).count("<tr>") == 1


def test_drawn_rows_of_dicts_and_of_mixed_records_are_those_of_django_tables2(carts):
    odd = {"number": "9", "is_lifted": 1, "site__units": "inch", "get_absolute_url": "/"}
    table = YardTable([odd, *carts], exclude=["number"])

    assert row_by_row(table) == cell_by_cell(table)


def test_sayer_says_what_the_file_holds(carts):
    table = YardTable(carts)

    for column in table.columns.iterall():
        say = sayer(column, column.value, None)
        assert [say(row) for row in table.rows] == [
            row.get_cell_value(column.name) for row in table.rows
        ]
