"""XLSX workbooks: their visible sheets, line by line, within the limits. Pure.

openpyxl reads the parts of the workbook; the rows are walked here, because its own
walks keep every element of a sheet, and hide far cells and formulas never calculated.
"""

import re
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any, BinaryIO
from zipfile import ZipFile

import openpyxl
from openpyxl.reader.excel import ExcelReader
from openpyxl.styles.stylesheet import apply_stylesheet
from openpyxl.worksheet._reader import CELL_TAG, DATA_TAG, FORMULA_TAG, ROW_TAG, WorkSheetParser
from openpyxl.xml.functions import iterparse

from fleet.sheet_grid import NOT_CALCULATED, Content, Grid, Limits, Line, Raw, is_blank, opened
from fleet.sheet_words import SheetError, gettext_noop
from fleet.sheet_zip import BROKEN, TOO_INTRICATE, refuse_bombs

if not openpyxl.DEFUSEDXML:
    raise ImportError("defusedxml must be installed: it refuses XML that expands without end")

MOST_SHEETS = 20
MOST_CHILDREN = 16_384
"""The columns of the widest sheet there can be (ECMA-376): no element holds more parts."""

FIRST_OWN_FORMAT = 164
"""Number formats below are built in (ECMA-376 part 1, 18.8.30); none of them pads zeros."""

ZERO_PADDED = re.compile(r"0{2,20}")
CARRIAGE_RETURN = "_x000D_"

FAR_CELL = gettext_noop(
    "%(name)s, sheet %(sheet)s, line %(line)d has something in column %(column)d; "
    "at most %(columns)d columns are read. Clear what stands far to the right."
)
NO_SHEETS = gettext_noop("%(name)s has no sheet with cells.")


class _Workbook(ExcelReader):
    """The parts of a workbook that its cells need; the sheets stay closed."""

    def __init__(self, file: BinaryIO) -> None:
        super().__init__(file, read_only=True, data_only=True, keep_links=False)
        self.read_manifest()
        self.read_strings()
        self.read_workbook()
        apply_stylesheet(self.archive, self.wb)

    def visible_sheets(self) -> list[tuple[str, str]]:
        """Return the title and the zip's member of each sheet that a person sees."""
        return [
            (sheet.name, relation.target)
            for sheet, relation in self.parser.find_sheets()
            if sheet.state == "visible" and relation.Type.endswith("/worksheet")
        ]

    def rows(self, content: Content, target: str) -> Iterator[list[dict[str, Any]]]:
        """Yield the cells of each row, keeping none."""
        with (
            opened(content) as file,
            ZipFile(file) as archive,
            archive.open(target) as source,
        ):
            parser = _CellParser(
                source,
                self.shared_strings,
                data_only=True,
                epoch=self.wb.epoch,
                date_formats=self.wb._date_formats,
                timedelta_formats=self.wb._timedelta_formats,
            )
            yield from map(parser.parse_row, _row_elements(source))

    def zero_padding(self, style: int) -> int:
        """Return how many digits a style such as 0000 fills up to, 0 for any other."""
        own = self.wb._cell_styles[style].numFmtId - FIRST_OWN_FORMAT
        pattern = self.wb._number_formats[own] if own >= 0 else ""
        return len(pattern) if ZERO_PADDED.fullmatch(pattern) else 0


class _CellParser(WorkSheetParser):
    def parse_cell(self, element: Any) -> dict[str, Any]:
        cell = super().parse_cell(element)
        # A formula may rightly come to an empty text, never to an empty number.
        if cell["value"] is None and cell["data_type"] == "n" and _has_formula(element):
            cell["value"] = NOT_CALCULATED
        return cell


def _has_formula(element: Any) -> bool:
    return element.find(FORMULA_TAG) is not None


def xlsx_grids(content: Content, name: str, limits: Limits) -> list[Grid]:
    """Return the visible sheets of a workbook, in their order, each read lazily.

    Raises SheetError for a damaged or oversized file; so do the lines of a grid.
    """
    refuse_bombs(content, name, limits)
    try:
        with warnings.catch_warnings(), opened(content) as file:
            warnings.simplefilter("ignore")
            book = _Workbook(file)
            sheets = book.visible_sheets()
    # A damaged workbook makes openpyxl raise almost anything.
    except Exception as broken:
        raise SheetError(BROKEN, name=name) from broken
    if not sheets:
        raise SheetError(NO_SHEETS, name=name)
    return [
        Grid(title, partial(_lines, book, content, (name, title, target), limits), book.wb.epoch)
        for title, target in sheets[:MOST_SHEETS]
    ]


def _lines(
    book: _Workbook, content: Content, place: tuple[str, str, str], limits: Limits
) -> Iterator[Line]:
    name, title, target = place
    raw = partial(_raw, book, {})
    try:
        for line, cells in _quiet(book.rows(content, target)):
            yield line, _spread(cells, raw, (name, title, limits))
    except SheetError:
        raise
    except _TooManyParts as intricate:
        raise SheetError(TOO_INTRICATE, name=name) from intricate
    # A damaged sheet makes openpyxl raise almost anything.
    except Exception as broken:
        raise SheetError(BROKEN, name=name) from broken


class _TooManyParts(Exception):
    pass


def _row_elements(source: Any) -> Iterator[Any]:
    """Yield each row element; forget it, and all that is no part of a cell, afterwards."""
    above: list[Any] = []
    in_cell = 0
    for event, element in iterparse(source, ("start", "end")):
        if event == "start":
            above.append(element)
            in_cell += element.tag == CELL_TAG
            continue
        above.pop()
        in_cell -= element.tag == CELL_TAG
        parent = above[-1] if above else element
        if element.tag == ROW_TAG and parent.tag == DATA_TAG:
            yield element
        if len(parent) > MOST_CHILDREN:
            raise _TooManyParts
        if above and not in_cell and element.tag != CELL_TAG:
            parent.remove(element)


def _quiet(rows: Iterator[Any]) -> Iterator[Any]:
    while True:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            row = next(rows, None)
        if row is None:
            return
        yield row


def _spread(
    cells: Sequence[Mapping[str, Any]],
    raw: Callable[[Mapping[str, Any]], Raw],
    place: tuple[str, str, Limits],
) -> list[Raw]:
    name, title, limits = place
    row: list[Raw] = []
    for cell in cells:
        value, column = raw(cell), cell["column"]
        if is_blank(value):
            continue
        if column > limits.columns:
            known = {"sheet": title, "line": cell["row"], "columns": limits.columns}
            raise SheetError(FAR_CELL, name=name, column=column, **known)
        row.extend([None] * (column - len(row)))
        row[column - 1] = value
    return row


def _raw(book: _Workbook, padding: dict[int, int], cell: Mapping[str, Any]) -> Raw:
    value, style = cell["value"], cell["style_id"]
    if isinstance(value, str):
        return value.replace(CARRIAGE_RETURN, "")
    if type(value) is not int or not style:
        return value
    if style not in padding:
        padding[style] = book.zero_padding(style)
    # A painted number 0012 is kept by spreadsheet programs as 12 shown in four digits.
    return f"{value:0{padding[style]}d}" if padding[style] else value
