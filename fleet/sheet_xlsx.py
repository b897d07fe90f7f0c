"""XLSX workbooks: their visible sheets, line by line, within the limits. Pure."""

import io
import re
import warnings
from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from typing import Any

import openpyxl
from openpyxl.cell.read_only import ReadOnlyCell

# The public row iterator hides line numbers' gaps, far cells and unsaved formulas.
from openpyxl.worksheet._reader import FORMULA_TAG, WorkSheetParser

from fleet.sheet_grid import NOT_CALCULATED, Grid, Limits, Line, Raw, is_blank
from fleet.sheet_words import SheetError, gettext_noop
from fleet.sheet_zip import BROKEN, refuse_bombs

if not openpyxl.DEFUSEDXML:
    raise ImportError("defusedxml must be installed: it refuses XML that expands without end")

MOST_SHEETS = 20
ZERO_PADDED = re.compile(r"0{2,20}")
CARRIAGE_RETURN = "_x000D_"

FAR_CELL = gettext_noop(
    "%(name)s, sheet %(sheet)s, line %(line)d has something in column %(column)d; "
    "at most %(columns)d columns are read. Clear what stands far to the right."
)
NO_SHEETS = gettext_noop("%(name)s has no sheet with cells.")


class _CellParser(WorkSheetParser):
    def parse_cell(self, element: Any) -> dict[str, Any]:
        cell = super().parse_cell(element)
        # A formula may rightly come to an empty text, never to an empty number.
        if cell["value"] is None and cell["data_type"] == "n" and _has_formula(element):
            cell["value"] = NOT_CALCULATED
        return cell


def _has_formula(element: Any) -> bool:
    return element.find(FORMULA_TAG) is not None


def xlsx_grids(content: bytes, name: str, limits: Limits) -> list[Grid]:
    """Return the visible sheets of a workbook, in their order, each read lazily.

    Raises SheetError for a damaged or oversized file; so do the lines of a grid.
    """
    refuse_bombs(content, name, limits)
    book = _opened(content, name)
    visible = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
    if not visible:
        raise SheetError(NO_SHEETS, name=name)
    return [
        Grid(sheet.title, partial(_lines, book, sheet, name, limits), book.epoch)
        for sheet in visible[:MOST_SHEETS]
    ]


def _opened(content: bytes, name: str) -> Any:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return openpyxl.load_workbook(
                io.BytesIO(content), read_only=True, data_only=True, keep_links=False
            )
    # A damaged workbook makes openpyxl raise almost anything.
    except Exception as broken:
        raise SheetError(BROKEN, name=name) from broken


def _lines(book: Any, sheet: Any, name: str, limits: Limits) -> Iterator[Line]:
    raw = partial(_raw, sheet, {})
    try:
        for line, cells in _parsed(book, sheet):
            yield line, _spread(cells, raw, (name, sheet.title, limits))
    except SheetError:
        raise
    # A damaged sheet makes openpyxl raise almost anything.
    except Exception as broken:
        raise SheetError(BROKEN, name=name) from broken


def _parsed(book: Any, sheet: Any) -> Iterator[tuple[int, list[dict[str, Any]]]]:
    with sheet._get_source() as source:
        parser = _CellParser(
            source,
            sheet._shared_strings,
            data_only=True,
            epoch=book.epoch,
            date_formats=book._date_formats,
            timedelta_formats=book._timedelta_formats,
        )
        yield from _quiet(parser.parse())


def _quiet(rows: Iterator[Any]) -> Iterator[Any]:
    while True:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            row = next(rows, None)
        if row is None:
            return
        yield row


def _spread(
    cells: Sequence[Mapping[str, Any]], raw: Any, place: tuple[str, str, Limits]
) -> list[Raw]:
    name, title, limits = place
    row: list[Raw] = []
    for cell in cells:
        value, column = raw(cell), cell["column"]
        if is_blank(value):
            continue
        if column > limits.columns:
            raise SheetError(
                FAR_CELL,
                name=name,
                sheet=title,
                line=cell["row"],
                column=column,
                columns=limits.columns,
            )
        row.extend([None] * (column - len(row)))
        row[column - 1] = value
    return row


def _raw(sheet: Any, padding: dict[int, int], cell: Mapping[str, Any]) -> Raw:
    value = cell["value"]
    if isinstance(value, str):
        return value.replace(CARRIAGE_RETURN, "")
    if type(value) is not int or not cell["style_id"]:
        return value
    digits = padding.get(cell["style_id"])
    if digits is None:
        style = ReadOnlyCell(sheet, **cell).number_format
        digits = padding[cell["style_id"]] = len(style) if ZERO_PADDED.fullmatch(style) else 0
    # A painted number 0012 is kept by spreadsheet programs as 12 shown in four digits.
    return f"{value:0{digits}d}" if digits else value
