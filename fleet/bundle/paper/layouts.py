"""How tables look in print: which columns, under which short titles, how wide."""

from dataclasses import dataclass
from functools import cache

from fleet.bundle.paper.blocks import Grid, Wide
from fleet.bundle.paper.reading import worded
from fleet.bundle.tables import all_tables


@dataclass(frozen=True)
class Layout:
    """The print of one table: ``columns`` are (column, title, share of the width).

    ``file`` is the table's name; ``title`` heads it and ``about`` says what it lists.
    """

    file: str
    title: str
    about: str
    columns: tuple

    def grid(self, rows, zone) -> Grid:
        """Return the rows, dicts of the table's cells, as they are printed."""
        numeric = numeric_columns(self.file)
        wide = tuple(Wide(title, share, name in numeric) for name, title, share in self.columns)
        names = [name for name, _title, _share in self.columns]
        return Grid(wide, [[worded(row[name], zone) for name in names] for row in rows])


@cache
def numeric_columns(file) -> set[str]:
    (table,) = [table for table in all_tables() if table.name == file]
    return {column.name for column in table.columns if column.numeric}
