"""How tables look in print: which columns, under which short titles, how wide."""

from dataclasses import dataclass
from functools import cache
from itertools import groupby

from fleet.bundle.paper.blocks import Grid, Wide
from fleet.bundle.paper.reading import spaced, unguarded, worded
from fleet.bundle.tables import all_tables


@dataclass(frozen=True)
class Layout:
    """The print of one table: ``columns`` are (column, title, share of the width).

    ``file`` is the table's name; ``title`` heads it and ``about`` says what it lists. Where
    neighbours differ in the column ``joins`` alone, they stand in one row. The column ``body``
    holds JSON.
    """

    file: str
    title: str
    about: str
    columns: tuple
    joins: str = ""
    body: str = ""

    def grid(self, rows, zone) -> Grid:
        """Return the rows, dicts of the table's cells, as they are printed."""
        numeric = numeric_columns(self.file)
        wide = tuple(Wide(title, share, name in numeric) for name, title, share in self.columns)
        names = [name for name, _title, _share in self.columns]
        joined = self._joined(rows) if self.joins else rows
        return Grid(wide, [[self._cell(row, name, zone) for name in names] for row in joined])

    def _cell(self, row, name, zone):
        return spaced(row[name]) if name == self.body else worded(row[name], zone)

    def _joined(self, rows):
        others = [name for name, _title, _share in self.columns if name != self.joins]
        for _alike, same in groupby(rows, key=lambda row: [row[name] for name in others]):
            first, *more = same
            said = ", ".join(unguarded(row[self.joins]) for row in (first, *more))
            yield {**first, self.joins: said}


@cache
def numeric_columns(file) -> set[str]:
    (table,) = [table for table in all_tables() if table.name == file]
    return {column.name for column in table.columns if column.numeric}
