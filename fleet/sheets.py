"""Spreadsheets as people really have them: CSV and XLSX, read row by row. Pure.

``read_sheet`` finds the headings and refuses what is no table; ``Sheet.rows`` then
yields each row with its values and all that is wrong with it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from openpyxl.utils import get_column_letter

from fleet.sheet_columns import ColumnSpec, FoundColumn, Header, best_header
from fleet.sheet_csv import csv_grid
from fleet.sheet_dates import DateOrder
from fleet.sheet_grid import (
    LIMITS,
    READING_LIMITS,
    Content,
    Grid,
    Limits,
    Line,
    Raw,
    bytes_of,
    first_lines,
    is_blank,
    opened,
    width,
)
from fleet.sheet_values import Setting, Value, read_value, text_of
from fleet.sheet_words import Fault, SheetError, Words, WrongCell, gettext_noop, shown
from fleet.sheet_xlsx import xlsx_grids
from fleet.sheet_zip import ZIP, refuse_other_formats

__all__ = [
    "LIMITS",
    "READING_LIMITS",
    "Cell",
    "ColumnSpec",
    "Content",
    "DateOrder",
    "Fault",
    "Limits",
    "Row",
    "Sheet",
    "SheetError",
    "Words",
    "read_sheet",
]

MOST_FAULTS = 500
SEEN_CHARACTERS = 1_000
KEPT_CELLS = 2_000
"""Of each column: numbers of carts and days stand in a sheet many times."""

EMPTY_FILE = gettext_noop("%(name)s is empty.")
TOO_LARGE = gettext_noop(
    "%(name)s has %(megabytes)d MB; at most %(most)d MB are read. Split it into several files."
)
TOO_MANY_ROWS = gettext_noop(
    "%(name)s has more than %(most)d rows below its headings. Split it into several files."
)


class Cell(NamedTuple):
    """A cell as seen (``text``) and as read (``value``: None when blank or wrong)."""

    text: str
    value: Value


@dataclass(slots=True)
class Row:
    """One row below the headings; ``line`` is its line as seen in the file."""

    line: int
    cells: Mapping[str, Cell]
    faults: tuple[Fault, ...]
    headings: Mapping[str, str]

    def __getitem__(self, code: str) -> Value:
        """Return the value of a column, None when blank, wrong, or not in the sheet."""
        return self.cells[code].value if code in self.cells else None

    def text(self, code: str) -> str:
        """Return the cell as it is seen in the file."""
        return self.cells[code].text if code in self.cells else ""

    def fault(self, code: str, template: str, **values: object) -> Fault:
        """Return a fault of this row's cell, for what only the importer can know."""
        column = self.headings.get(code, code)
        return Fault(self.line, column, shown(self.text(code)), Words(template, values))


@dataclass(frozen=True)
class Sheet:
    """A table that was found; ``faults`` are those of its headings, and then it has no rows."""

    name: str
    grid: Grid
    header: Header
    faults: tuple[Fault, ...]
    order: DateOrder
    limits: Limits

    @property
    def header_line(self) -> int:
        return self.header.line

    @property
    def columns(self) -> tuple[FoundColumn, ...]:
        return self.header.found

    @property
    def ignored(self) -> tuple[str, ...]:
        """The headings that stand in the sheet and are not read."""
        return self.header.ignored

    def rows(self) -> Iterator[Row]:
        """Yield the rows lazily, each time from the top; SheetError may come at any row."""
        if self.faults:
            return
        headings = {column.spec.code: column.heading for column in self.columns}
        settings = [(Setting(column, self.order, self.grid.epoch), {}) for column in self.columns]
        for line, cells in self._lines():
            yield self._row(line, cells, headings, settings)

    def gather(self, most_faults: int = MOST_FAULTS) -> tuple[list[Row], list[Fault]]:
        """Return all rows, and the first ``most_faults`` of all faults."""
        rows, faults = [], list(self.faults)
        for row in self.rows():
            rows.append(row)
            faults.extend(row.faults[: max(0, most_faults - len(faults))])
        return rows, faults

    def found(self) -> tuple[Words, ...]:
        """Return what was found, sentence by sentence, for a preview."""
        return tuple(_sentences(self))

    def _lines(self) -> Iterator[Line]:
        kept = 0
        for line, cells in self.grid.lines():
            if line <= self.header.line or self._says_nothing(cells):
                continue
            kept += 1
            if kept > self.limits.rows:
                raise SheetError(TOO_MANY_ROWS, name=self.name, most=self.limits.rows)
            yield line, cells

    def _says_nothing(self, cells: Sequence[Raw]) -> bool:
        seen = (cells[column.index] for column in self.columns if column.index < len(cells))
        return all(map(is_blank, seen)) or self.header.is_repeated_by(cells)

    def _row(
        self,
        line: int,
        cells: Sequence[Raw],
        headings: Mapping[str, str],
        settings: Sequence[tuple[Setting, dict[str, Cell]]],
    ) -> Row:
        read: dict[str, Cell] = {}
        faults = [*self._overflow(line, cells)]
        for setting, kept in settings:
            column = setting.column
            raw = cells[column.index] if column.index < len(cells) else None
            cell = kept.get(raw) if type(raw) is str else None
            if cell is None:
                cell, fault = self._cell(line, raw, setting)
                if fault:
                    faults.append(fault)
                elif type(raw) is str and len(kept) < KEPT_CELLS:
                    kept[raw] = cell
            read[column.spec.code] = cell
        return Row(line, read, tuple(faults), headings)

    def _cell(self, line: int, raw: Raw, setting: Setting) -> tuple[Cell, Fault | None]:
        heading, most = setting.column.heading, self.limits.cell_characters
        if isinstance(raw, str) and len(raw) > most:
            accepted = Words(gettext_noop("at most %(most)d characters"), {"most": most})
            return Cell(raw[:most], None), Fault(line, heading, shown(raw), accepted)
        text = text_of(raw)
        try:
            return Cell(text, read_value(raw, text, setting)), None
        except WrongCell as wrong:
            return Cell(text, None), Fault(line, heading, shown(text), wrong.accepted)

    def _overflow(self, line: int, cells: Sequence[Raw]) -> Iterator[Fault]:
        # In a delimited file the cells after an unquoted comma stand one too far.
        if self.grid.delimited and width(cells) > self.header.width:
            extra = ", ".join(map(text_of, cells[self.header.width :]))
            accepted = gettext_noop(
                "as many cells as there are headings; a cell that holds the delimiter "
                "stands between quotation marks"
            )
            letter = get_column_letter(self.header.width + 1)
            yield Fault(line, letter, shown(extra), Words(accepted))


def read_sheet(
    content: Content,
    name: str,
    wanted: Sequence[ColumnSpec],
    *,
    order: DateOrder = "ymd",
    limits: Limits = LIMITS,
) -> Sheet:
    """Find the wanted columns in a CSV or XLSX file; its kind is told by its content.

    ``name`` is the file's name, for messages. ``order`` is how the site writes dates.
    Headings are sought in the first 30 lines with something in them. Of several
    sheets the visible one with most wanted columns is taken.
    Raises SheetError, and nothing else, for what cannot be read as a table.
    """
    label = shown(name) or "file"
    _refuse_size(content, label, limits)
    refuse_other_formats(content, label)
    if _start_of(content) == ZIP:
        grids = xlsx_grids(content, label, limits)
    else:
        grids = [csv_grid(content, label, wanted, limits)]
    grid, header = _best(grids, label, wanted)
    return Sheet(label, grid, header, tuple(_heading_faults(header, wanted)), order, limits)


def _start_of(content: Content) -> bytes:
    with opened(content) as file:
        return file.read(len(ZIP))


def _refuse_size(content: Content, name: str, limits: Limits) -> None:
    with opened(content) as file:
        if not any(line.strip() for line in file):
            raise SheetError(EMPTY_FILE, name=name)
    if (size := bytes_of(content)) > limits.file_bytes:
        megabytes, most = -(-size // 1_000_000), limits.file_bytes // 1_000_000
        raise SheetError(TOO_LARGE, name=name, megabytes=megabytes, most=most)


def _best(grids: Sequence[Grid], name: str, wanted: Sequence[ColumnSpec]) -> tuple[Grid, Header]:
    headed = [
        (grid, header)
        for grid in grids
        if (header := best_header(first_lines(grid.lines()), wanted)) is not None
    ]
    if not headed:
        raise SheetError(EMPTY_FILE, name=name)
    return max(headed, key=lambda pair: len(pair[1].found))


def _heading_faults(header: Header, wanted: Sequence[ColumnSpec]) -> Iterator[Fault]:
    present = {column.spec.code for column in header.found}
    missing = [spec for spec in wanted if spec.required and spec.code not in present]
    if missing or not present:
        yield _missing_fault(header, missing or wanted)
    for first, second in header.twice:
        accepted = gettext_noop("only one column of this meaning")
        yield Fault(header.line, second, f"{first}, {second}", Words(accepted))


def _missing_fault(header: Header, missing: Sequence[ColumnSpec]) -> Fault:
    seen = [*(column.heading for column in header.found), *header.ignored]
    accepted = "; ".join(
        f"{spec.heading} ({', '.join(spec.synonyms)})" if spec.synonyms else spec.heading
        for spec in missing
    )
    template = gettext_noop("a column for each of: %(headings)s")
    names = ", ".join(spec.heading for spec in missing)
    known = {"headings": accepted}
    return Fault(header.line, names, ", ".join(seen)[:SEEN_CHARACTERS], Words(template, known))


def _sentences(sheet: Sheet) -> Iterator[Words]:
    place = {"sheet": sheet.grid.name, "line": sheet.header_line}
    yield Words(gettext_noop('Headings stand on line %(line)d of "%(sheet)s".'), place)
    for column in sheet.columns:
        known = {
            "wanted": column.spec.heading,
            "heading": column.heading,
            "letter": column.letter,
        }
        template = gettext_noop('%(wanted)s is read from column %(letter)s, "%(heading)s".')
        yield Words(template, known)
    if sheet.ignored:
        template = gettext_noop("Not read: %(headings)s.")
        yield Words(template, {"headings": ", ".join(sheet.ignored)})
