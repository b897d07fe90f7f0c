"""What every list stands on: the look of a table, and the same list as CSV."""

import csv
import re
from decimal import Decimal

import django_tables2 as tables
from django.http import StreamingHttpResponse
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _

from shared.table_rows import drawn_rows, sayer

# a spreadsheet runs a cell that begins so (OWASP, CSV Injection)
RUNS_AS_FORMULA = tuple("=+-@\t\r\n\0＝＋－＠")
PLAIN_NUMBER = re.compile(r"-?\d+([.,]\d+)?")
BYTE_ORDER_MARK = "\ufeff"


class NumberColumn(tables.Column):
    """Figures, to the right, and left as they are in the CSV."""

    numeric = True

    def __init__(self, *args, **kwargs):
        kwargs.setdefault("attrs", {"td": {"class": "num"}})
        super().__init__(*args, **kwargs)


class BaseTable(tables.Table):
    """A ledger: rows stack on a phone; ``caption`` names it, ``csv_name`` its CSV file."""

    caption = ""
    csv_name = "list"

    class Meta:
        template_name = "shared/_table.html"
        attrs = {"class": "ledger ledger-stack"}
        default = ""

    def drawn_rows(self):
        return drawn_rows(self)

    @property
    def position(self):
        """Say which cut of the rows is shown; empty when it is all of them."""
        page = getattr(self, "page", None)
        if page is None or not page.has_other_pages():
            return ""
        return _("Rows %(first)s to %(last)s of %(all)s") % {
            "first": page.start_index(),
            "last": page.end_index(),
            "all": self.paginator.count,
        }


class CsvList:
    """Mixin for a SingleTableView: the same list as a file under ``?file=csv``."""

    def render_to_response(self, context, **kwargs):
        if self.request.GET.get("file") == "csv":
            table = context["table"]
            return csv_response(table, table.csv_name)
        return super().render_to_response(context, **kwargs)


def guarded(value, *, numeric=False):
    """Return the cell's text, with ' before what a spreadsheet would run."""
    text = "" if value is None else str(value)
    is_number = isinstance(value, int | float | Decimal) or PLAIN_NUMBER.fullmatch(text)
    if numeric and is_number:
        return text
    return f"'{text}" if text.lstrip(" \u00a0").startswith(RUNS_AS_FORMULA) else text


class Echo:
    """A file that hands each line back, for csv.writer to stream through."""

    def write(self, line):
        return line


def csv_lines(table):
    """Yield the table as CSV (RFC 4180), all its rows whatever page is shown."""
    columns = [c for c in table.columns.iterall() if not c.column.exclude_from_export]
    numeric = [getattr(column.column, "numeric", False) for column in columns]
    sayers = [sayer(column, column.value, None) for column in columns]
    writer = csv.writer(Echo(), lineterminator="\r\n")
    yield BYTE_ORDER_MARK + writer.writerow([guarded(column.header) for column in columns])
    for row in table.rows:
        values = [say(row) for say in sayers]
        cells = zip(values, numeric, strict=True)
        yield writer.writerow([guarded(value, numeric=number) for value, number in cells])


def csv_response(table, name):
    """Return the whole list as a CSV file to keep."""
    return StreamingHttpResponse(
        csv_lines(table),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": content_disposition_header(True, f"{name}.csv")},
    )
