"""Builders of spreadsheet files, tidy and messy, for the tests of reading them."""

import csv
import io
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

import openpyxl

from fleet.sheets import ColumnSpec

NUMBER = ColumnSpec(
    "number", "Cart number", ("Cart", "Number", "Unit #"), required=True, example="1001"
)
FITTED_ON = ColumnSpec("fitted_on", "Fitted on", ("Lift date", "Installed"), kind="date")
HOURS = ColumnSpec("hours", "Hours", ("Hour meter",), kind="hours")
DISTANCE = ColumnSpec("distance", "Distance", ("Odometer", "Miles"), kind="distance", unit="mi")
TYRE = ColumnSpec("tyre", "Tyre size", ("Tire height",), kind="length", unit="in")
LIFTED = ColumnSpec("lifted", "Lifted", kind="yes_no")
POWER = ColumnSpec(
    "power",
    "Power",
    ("Drive",),
    kind="choice",
    choices={"electric": ("electric", "battery", "48 V"), "petrol": ("petrol", "gas")},
)
SEATS = ColumnSpec("seats", "Seats", kind="number")
NOTE = ColumnSpec("note", "Note", ("Remarks",))
READ_AT = ColumnSpec("read_at", "Read at", kind="day_or_moment")

CARTS = (NUMBER, FITTED_ON, HOURS, DISTANCE, TYRE, LIFTED, POWER, SEATS, NOTE)

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"

HEADINGS = ["Cart #", "Lift date", "Hours", "Odometer", "Tire height", "LIFTED?", "drive"]
ROW = ["1001", "3/2/2026", "412.0", "1,850.0", "22 1/2 in", "Yes", "Gas"]


def csv_bytes(
    rows: Iterable[Sequence[object]], delimiter: str = ",", encoding: str = "utf-8"
) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter).writerows(rows)
    return text.getvalue().encode(encoding)


def xlsx_bytes(rows: Iterable[Sequence[object]], title: str = "Carts") -> bytes:
    book = openpyxl.Workbook()
    book.active.title = title
    for line, row in enumerate(rows, 1):
        for column, value in enumerate(row, 1):
            _put(book.active.cell(line, column), value)
    return book_bytes(book)


def _put(cell: object, value: object) -> None:
    cell.value = value
    if isinstance(value, str):
        cell.data_type = "s"


def book_bytes(book: openpyxl.Workbook) -> bytes:
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def messy_workbook(carts: int, wrong: Mapping[int, Sequence[object]] = {}) -> bytes:
    """A fleet list under a merged title, with gaps, repeated headings and a total.

    ``wrong`` replaces the row of the n-th cart, counted from 0.
    """
    book = openpyxl.Workbook()
    book.active.title = "Read me"
    book.active.append(["How to fill in the cart list"])
    sheet = book.create_sheet("Fleet 2026")
    sheet["A1"] = "Invented Bay Resort: carts"
    sheet.merge_cells("A1:H1")
    headings = ["Bay note", *HEADINGS, "Bought from"]
    for column, heading in enumerate(headings, 1):
        sheet.cell(4, column, heading)
    for index in range(carts):
        if index and index % 50 == 0:
            sheet.append([])
            sheet.append(headings)
        sheet.append(["", *wrong.get(index, _cart_row(index)), "someone"])
    return book_bytes(book)


def _cart_row(index: int) -> list[object]:
    return [1001.0 + index, date(2025, 3, 2), 412.5, 1850, "35 7/8 in", "x", "Electric"]


def with_member(content: bytes, name: str, member: bytes) -> bytes:
    """The same zip with one member added, or replaced where it is there."""
    changed = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(changed, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for info in old.infolist():
            if info.filename != name:
                new.writestr(info, old.read(info))
        new.writestr(name, member)
    return changed.getvalue()


def shared_strings_workbook(strings: Sequence[str], cells: Sequence[Sequence[int]]) -> bytes:
    """A workbook as spreadsheet programs write it: texts apart, cells naming them by number."""
    content = xlsx_bytes([[]])
    texts = "".join(f'<si><t xml:space="preserve">{text}</t></si>' for text in strings)
    rows = "".join(
        "<row>" + "".join(f'<c t="s"><v>{index}</v></c>' for index in row) + "</row>"
        for row in cells
    )
    sheet = f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>'
    kind = (
        '<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-'
        'officedocument.spreadsheetml.sharedStrings+xml"/></Types>'
    )
    types = member(content, "[Content_Types].xml")
    for name, part in {
        "xl/sharedStrings.xml": f'<sst xmlns="{MAIN}">{texts}</sst>'.encode(),
        "xl/worksheets/sheet1.xml": sheet.encode(),
        "[Content_Types].xml": types.replace(b"</Types>", kind.encode()),
    }.items():
        content = with_member(content, name, part)
    return content


def member(content: bytes, name: str) -> bytes:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return archive.read(name)
