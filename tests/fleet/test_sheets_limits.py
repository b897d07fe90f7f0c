"""How much of a file is read, and how little memory that takes."""

import tracemalloc

import pytest

from fleet.sheets import READING_LIMITS, Limits, SheetError, read_sheet
from tests.fleet.sheet_samples import (
    CARTS,
    HEADINGS,
    HOURS,
    MAIN,
    NUMBER,
    ROW,
    csv_bytes,
    member,
    with_member,
    xlsx_bytes,
)


def test_too_many_tags_are_refused():
    with pytest.raises(SheetError, match=r"more cells and formats"):
        read_sheet(xlsx_bytes([HEADINGS, ROW]), "x.xlsx", CARTS, limits=Limits(tags=100))


def with_sheet_data(xml: str) -> bytes:
    sheet = f'<worksheet xmlns="{MAIN}"><sheetData>{xml}</sheetData></worksheet>'
    return with_member(xlsx_bytes([["Cart"]]), "xl/worksheets/sheet1.xml", sheet.encode())


def test_a_row_of_more_parts_than_a_sheet_can_have_is_refused():
    with pytest.raises(SheetError, match=r"more cells and formats"):
        read_sheet(with_sheet_data("<row>" + "<c/>" * 17_000 + "</row>"), "x.xlsx", [NUMBER])


def test_what_is_no_cell_is_forgotten_while_reading():
    row = '<row><c t="inlineStr"><is><t>%s</t></is></c></row>'
    content = with_sheet_data(row % "Cart" + "<a><b/></a>" * 60_000 + row % "7")

    tracemalloc.start()
    rows = list(read_sheet(content, "x.xlsx", [NUMBER]).rows())
    _, peak_bytes = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert [(row.line, row["number"]) for row in rows] == [(2, "7")]
    assert peak_bytes < 5_000_000


def far_cell(reference: str, line: int) -> bytes:
    content = xlsx_bytes([["Cart"], ["1"]])
    sheet = member(content, "xl/worksheets/sheet1.xml")
    row = f'<row r="{line}"><c r="{reference}"><v>5</v></c></row></sheetData>'
    return with_member(
        content, "xl/worksheets/sheet1.xml", sheet.replace(b"</sheetData>", row.encode())
    )


def test_a_far_cell_is_refused_without_eating_memory():
    content = far_cell("XFD1048576", 1_048_576)

    tracemalloc.start()
    with pytest.raises(SheetError, match=r"line 1048576 has something in column 16384"):
        list(read_sheet(content, "x.xlsx", [NUMBER]).rows())
    _, peak_bytes = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert peak_bytes < 10_000_000


def test_a_cell_far_down_is_read_with_its_line():
    rows = read_sheet(far_cell("A1048576", 1_048_576), "x.xlsx", [NUMBER]).rows()

    assert [(row.line, row["number"]) for row in rows] == [(2, "1"), (1_048_576, "5")]


@pytest.mark.parametrize("build", [csv_bytes, xlsx_bytes], ids=["csv", "xlsx"])
def test_limits_of_rows_columns_and_size_are_exact(build):
    content = build([["Cart", "Hours"], ["1", "2"], ["2", "3"]])

    assert len(list(read_sheet(content, "x", CARTS, limits=Limits(rows=2, columns=2)).rows())) == 2
    with pytest.raises(SheetError, match=r"more than 1 rows below"):
        list(read_sheet(content, "x", CARTS, limits=Limits(rows=1)).rows())
    with pytest.raises(SheetError, match=r"at most 1 columns|more than 1 columns"):
        read_sheet(content, "x", CARTS, limits=Limits(columns=1))
    with pytest.raises(SheetError, match=r"at most 0 MB are read"):
        read_sheet(content, "x", CARTS, limits=Limits(file_bytes=len(content) - 1))


def test_a_long_csv_is_read_row_by_row_in_flat_memory():
    content = b"Cart,Hours\n" + b"1001,412.5\n" * 200_000
    sheet = read_sheet(content, "readings.csv", [NUMBER, HOURS], limits=READING_LIMITS)

    tracemalloc.start()
    count = sum(1 for row, _ in zip(sheet.rows(), range(20_000), strict=False))
    _, peak_bytes = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert count == 20_000
    assert peak_bytes < 1_000_000
