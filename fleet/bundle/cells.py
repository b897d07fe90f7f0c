"""Values as text of a CSV cell: days and moments in ISO 8601, plain figures, yes and no."""

import csv
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache
from operator import itemgetter
from uuid import UUID

from shared.tables import BYTE_ORDER_MARK, RUNS_AS_FORMULA, guarded


@lru_cache(maxsize=8192)
def moment(at: datetime | None, zone) -> str:
    """Return a moment by the site's clock with its offset: "2026-03-02T08:00:00-05:00"."""
    return "" if at is None else at.astimezone(zone).isoformat(timespec="seconds")


def done_at(fact, zone) -> str:
    """Return when a fact happened; only its day where nobody wrote a time."""
    text = moment(fact.done_at, zone)
    return text[:10] if fact.day_only else text


def who_and_when(fact, scope) -> dict:
    return {"done_at": done_at(fact, scope.zone), "by": scope.name(fact.by_id)}


def arrival(fact, scope) -> dict:
    return {
        "written_at": moment(fact.written_at, scope.zone),
        "received_at": moment(fact.received_at, scope.zone),
        "brought_in": fact.brought_in,
        "corrects": fact.corrects,
        "why_corrected": fact.why_corrected,
    }


def text_of(value) -> object:
    """Return the value as it stands in a cell; figures are left for the writer."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return _plain(value)
    if isinstance(value, date):
        return value.isoformat()
    return value if isinstance(value, int) else str(value)


def _plain(value: Decimal) -> str:
    """Return the figure without an exponent, and without zeros that say nothing."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def cell(value) -> object:
    """Return the value as a cell of words holds it, guarded; most need no long look."""
    plain = PLAIN.get(type(value))
    text = plain(value) if plain else value
    if type(text) is not str:
        text = text_of(value)
    if type(text) is str and text[:1] not in MAY_RUN:
        return text
    return guarded(text)


def figure(value) -> object:
    """Return the value as a cell of figures holds it; what is no figure is guarded."""
    if value is None:
        return ""
    if type(value) is int:
        return value
    if type(value) is Decimal and value.is_finite():
        return _plain(value)
    return guarded(text_of(value), numeric=True)


PLAIN = {
    type(None): lambda value: "",
    bool: lambda value: "yes" if value else "no",
    date: date.isoformat,
    UUID: str,
}
# what a spreadsheet may run begins with one of these, or with a blank before it
MAY_RUN = frozenset(start[0] for start in (*RUNS_AS_FORMULA, " ", "\u00a0"))


class TableFile:
    """A CSV file (RFC 4180, UTF-8 with a byte order mark) that rows are added to."""

    def __init__(self, path, table):
        self.table, self.path, self.rows = table, path, 0
        self.file = path.open("w", encoding="utf-8", newline="")
        self.file.write(BYTE_ORDER_MARK)
        self.writer = csv.writer(self.file, lineterminator="\r\n")
        self.writer.writerow(table.names)
        self.makers = [figure if one.numeric else cell for one in table.columns]
        self.values = itemgetter(*table.names)
        self.known = set(table.names)

    def add(self, rows):
        """Write rows down. Raises ValueError for a row with other columns than the table's."""
        self.writer.writerows(map(self.cells, rows))

    def cells(self, row):
        if row.keys() != self.known:
            odd = ", ".join(sorted(row.keys() ^ self.known))
            raise ValueError(f"{self.table.name}: columns and row differ in {odd}")
        self.rows += 1
        # most are nothing or plain words, and need no maker
        return [
            value
            if value is None or (type(value) is str and value[:1] not in MAY_RUN)
            else make(value)
            for value, make in zip(self.values(row), self.makers, strict=True)
        ]

    def close(self):
        self.file.close()
