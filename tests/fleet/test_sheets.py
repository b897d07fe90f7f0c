"""Sheets read by their headings, row by row, with the line of each fault."""

from datetime import date
from decimal import Decimal

import openpyxl
import pytest

from fleet.sheets import ColumnSpec, SheetError, read_sheet
from shared.units import Measure
from tests.fleet.sheet_samples import (
    CARTS,
    HEADINGS,
    HOURS,
    NOTE,
    NUMBER,
    ROW,
    book_bytes,
    csv_bytes,
    messy_workbook,
    shared_strings_workbook,
    xlsx_bytes,
)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"], ids=["comma", "semicolon", "tab"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_read_sheet_reads_each_delimiter_and_encoding(delimiter, encoding):
    rows = [[*HEADINGS, "Note"], [*ROW, 'Señor, said: "35;\nä"']]

    sheet = read_sheet(csv_bytes(rows, delimiter, encoding), "carts.csv", CARTS, order="mdy")

    (row,) = sheet.rows()
    assert {code: cell.value for code, cell in row.cells.items()} == {
        "number": "1001",
        "fitted_on": date(2026, 3, 2),
        "hours": Decimal("412.0"),
        "distance": Measure("1,850.0", Decimal("1850.0"), "mi", Decimal("2977286.4")),
        "tyre": Measure("22 1/2 in", Decimal("22.5"), "in", Decimal("571.5")),
        "lifted": True,
        "power": "petrol",
        "note": 'Señor, said: "35;\nä"',
    }
    assert row.faults == ()


def test_rows_name_the_line_that_a_record_begins_on():
    content = b'Cart,Note\n1,"two\nlines"\n\n2,"one"\n'

    rows = list(read_sheet(content, "carts.csv", CARTS).rows())

    assert [(row.line, row["number"]) for row in rows] == [(2, "1"), (5, "2")]


def test_a_messy_workbook_of_300_carts_names_its_7_wrong_rows():
    good = ["9", "2026-03-02", "1", "1", "22", "no", "gas"]
    wrong = {
        3: ["", *good[1:]],
        60: ["9", "31/02/2026", *good[2:]],
        120: [*good[:2], "many", *good[3:]],
        121: [*good[:3], "12 parsecs", *good[4:]],
        180: [*good[:4], "35 9/8 in", *good[5:]],
        240: [*good[:5], "perhaps", good[6]],
        299: [*good[:6], "steam"],
    }

    sheet = read_sheet(messy_workbook(300, wrong), "carts.xlsx", CARTS, order="dmy")
    rows, faults = sheet.gather()

    assert len(rows) == 300
    assert [(fault.line, fault.column, fault.value) for fault in faults] == [
        (8, "Cart #", ""),
        (67, "Lift date", "31/02/2026"),
        (129, "Hours", "many"),
        (130, "Odometer", "12 parsecs"),
        (191, "Tire height", "35 9/8 in"),
        (253, "LIFTED?", "perhaps"),
        (314, "drive", "steam"),
    ]
    assert rows[0]["number"] == "1001"
    assert rows[0]["tyre"].value == Decimal("35.875")


def test_found_tells_what_was_read_and_what_was_not():
    sheet = read_sheet(messy_workbook(1), "carts.xlsx", [NUMBER, HOURS])

    assert [str(words) for words in sheet.found()] == [
        'Headings stand on line 4 of "Fleet 2026".',
        'Cart number is read from column B, "Cart #".',
        'Hours is read from column D, "Hours".',
        "Not read: Bay note, Lift date, Odometer, Tire height, LIFTED?, drive, Bought from.",
    ]
    assert sheet.header_line == 4
    assert [column.letter for column in sheet.columns] == ["B", "D"]


def test_sentences_are_said_through_a_translation():
    spanish = {
        'Line %(line)d, column "%(column)s": %(value)s. Accepted: %(accepted)s.': (
            "Fila %(line)d, %(column)s: %(value)s. Vale: %(accepted)s."
        ),
        "(empty)": "(vacío)",
        "a value in this column": "un valor",
    }
    content = csv_bytes([["Cart", "Hours"], ["", "1"]])

    (row,) = read_sheet(content, "x.csv", [NUMBER, HOURS]).rows()

    assert row.faults[0].said(spanish.get) == "Fila 2, Cart: (vacío). Vale: un valor."


@pytest.mark.parametrize(
    "heading",
    ["Cart number", "CART NO.", "cart #", "Cart №", "CartNumber", "unit #", "Number:", "Cárt\nNr."],
)
def test_headings_match_without_case_space_and_punctuation(heading):
    (row,) = read_sheet(csv_bytes([[heading], ["7"]]), "carts.csv", [NUMBER]).rows()

    assert row["number"] == "7"


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("Odometer", "mi"),
        ("Odometer (km)", "km"),
        ("Odometer km", "km"),
        ("Distance in kilometres", "mi"),
        ("Miles", "mi"),
    ],
)
def test_a_heading_may_name_the_unit(heading, unit):
    spec = ColumnSpec(
        "d", "Odometer", ("Miles", "Distance in kilometres"), kind="distance", unit="mi"
    )
    expected = "km" if "kilometres" in heading else unit

    (row,) = read_sheet(csv_bytes([[heading], ["5"]]), "x.csv", [spec]).rows()

    assert row["d"].unit == expected


def test_a_missing_column_is_one_fault_that_names_what_is_there():
    sheet = read_sheet(csv_bytes([["Wagon", "Hours"], ["7", "1"]]), "carts.csv", CARTS)

    assert [str(fault) for fault in sheet.faults] == [
        'Line 1, column "Cart number": Hours, Wagon. '
        "Accepted: a column for each of: Cart number (Cart, Number, Unit #)."
    ]
    assert list(sheet.rows()) == []


def test_two_columns_of_one_meaning_are_a_fault():
    sheet = read_sheet(csv_bytes([["Cart #", "Cart No."], ["7", "8"]]), "carts.csv", CARTS)

    assert [str(fault) for fault in sheet.faults] == [
        'Line 1, column "Cart No.": Cart #, Cart No.. Accepted: only one column of this meaning.'
    ]


def test_headings_are_found_among_the_first_30_lines_and_not_below():
    def sheet(above):
        return read_sheet(csv_bytes([["Bay"]] * above + [["Cart"], ["7"]]), "x.csv", [NUMBER])

    assert [row["number"] for row in sheet(29).rows()] == ["7"]
    assert [fault.value for fault in sheet(30).faults] == ["Bay"]


def test_headings_repeated_on_each_page_are_no_rows():
    content = csv_bytes([["Cart", "Hours"], ["1", "2"], ["CART ", "hours"], ["Cart", "3"]])

    rows = read_sheet(content, "x.csv", [NUMBER, HOURS]).rows()

    assert [row["number"] for row in rows] == ["1", "Cart"]


def test_the_closest_heading_is_taken_and_the_other_named():
    sheet = read_sheet(csv_bytes([["Number", "Cart number"], ["7", "8"]]), "x.csv", [NUMBER])

    assert [row["number"] for row in sheet.rows()] == ["8"]
    assert sheet.ignored == ("Number",)


def test_a_comma_that_is_not_quoted_is_a_fault_of_its_row():
    content = b"Cart,Hours\n7,1,850.0\n8,2\n"

    first, second = read_sheet(content, "carts.csv", [NUMBER, HOURS]).rows()

    assert [(fault.line, fault.column, fault.value) for fault in first.faults] == [
        (2, "C", "850.0")
    ]
    assert second.faults == ()


def test_a_comma_in_a_file_of_one_column_is_part_of_the_text():
    (row,) = read_sheet(b"Remarks\nbent, and rusty\n", "notes.csv", [NOTE]).rows()

    assert (row["note"], row.faults) == ("bent, and rusty", ())


def test_a_quotation_mark_left_open_names_its_line():
    content = b'Cart,Note\n7,fine\n8,"never closed\n9,fine\n'

    with pytest.raises(SheetError, match=r"carts.csv, line 3: a quotation mark"):
        list(read_sheet(content, "carts.csv", CARTS).rows())


def test_all_faults_of_a_row_are_gathered_and_the_importer_adds_its_own():
    content = csv_bytes([["Cart", "Seats", "Lifted"], ["", "four", "maybe"]])

    (row,) = read_sheet(content, "x.csv", CARTS).rows()
    own = row.fault("seats", "at most %(most)d seats", most=8)

    assert [fault.column for fault in row.faults] == ["Cart", "Seats", "Lifted"]
    assert str(own) == 'Line 2, column "Seats": four. Accepted: at most 8 seats.'


def test_the_sheet_that_answers_best_is_taken_and_hidden_ones_are_not():
    book = openpyxl.Workbook()
    book.active.append(["Cart"])
    book.create_sheet("Best").append(["Cart", "Hours"])
    hidden = book.create_sheet("Old")
    hidden.append(["Cart", "Hours", "Seats"])
    hidden.sheet_state = "hidden"

    sheet = read_sheet(book_bytes(book), "x.xlsx", CARTS)

    assert sheet.grid.name == "Best"


def test_texts_that_a_workbook_keeps_apart_are_read():
    content = shared_strings_workbook(["Cart", "Note", "12", "two_x000D_\nlines"], [[0, 1], [2, 3]])

    (row,) = read_sheet(content, "x.xlsx", [NUMBER, NOTE]).rows()

    assert (row["number"], row["note"]) == ("12", "two\nlines")


def test_rows_can_be_read_twice():
    sheet = read_sheet(xlsx_bytes([HEADINGS, ROW]), "x.xlsx", CARTS, order="mdy")

    assert list(sheet.rows()) == list(sheet.rows())


def test_a_note_about_the_delimiter_is_no_heading():
    (row,) = read_sheet(b"sep=;\r\nCart;Hours\r\n7;1,5\r\n", "x.csv", CARTS).rows()

    assert (row["number"], row["hours"]) == ("7", Decimal("1.5"))


@pytest.mark.parametrize(
    "wrong",
    [{"kind": "colour"}, {"kind": "choice"}, {"choices": {"a": ("b",)}}, {"kind": "length"}],
)
def test_a_column_that_makes_no_sense_is_refused(wrong):
    with pytest.raises(ValueError, match=r"^x: "):
        ColumnSpec("x", "X", **wrong)
