import csv
import io
import tracemalloc
import zipfile
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet.sheets import READING_LIMITS, ColumnSpec, Limits, SheetError, read_sheet
from shared.units import Measure
from tests.fleet.sheet_samples import (
    CARTS,
    FITTED_ON,
    HEADINGS,
    HOURS,
    LIFTED,
    MAIN,
    NOTE,
    NUMBER,
    POWER,
    READ_AT,
    ROW,
    SEATS,
    TYRE,
    book_bytes,
    csv_bytes,
    member,
    messy_workbook,
    shared_strings_workbook,
    with_member,
    xlsx_bytes,
)


def one_cell(spec, cell, order="mdy", build=xlsx_bytes):
    """Read one cell in a column of its own, beside a cart number."""
    content = build([["Cart number", spec.heading], ["1001", cell]])
    (row,) = read_sheet(content, "one", [NUMBER, spec], order=order).rows()
    return row


def value_of(spec, cell, order="mdy", build=xlsx_bytes):
    row = one_cell(spec, cell, order, build)
    assert row.faults == ()
    return row[spec.code]


def fault_of(spec, cell, order="mdy", build=xlsx_bytes):
    row = one_cell(spec, cell, order, build)
    (fault,) = row.faults
    return str(fault)


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


@pytest.mark.parametrize(
    ("order", "text", "day"),
    [
        ("mdy", "3/2/2026", (2026, 3, 2)),
        ("dmy", "3/2/2026", (2026, 2, 3)),
        ("mdy", "2026-03-02", (2026, 3, 2)),
        ("dmy", "2026/3/2", (2026, 3, 2)),
        ("dmy", "02.03.26", (2026, 3, 2)),
        ("ymd", "26-03-02", (2026, 3, 2)),
        ("mdy", "20260302", (2026, 3, 2)),
        ("dmy", "Mar 2, 2026", (2026, 3, 2)),
        ("mdy", "2-Mar-26", (2026, 3, 2)),
        ("mdy", "Monday 2nd march 2026", (2026, 3, 2)),
        ("mdy", "Sept. 30 2025", (2025, 9, 30)),
        ("mdy", "2026-Mar-02", (2026, 3, 2)),
        ("mdy", "29 Feb 2024", (2024, 2, 29)),
        ("mdy", "3/2/2026 4:30 PM", (2026, 3, 2)),
        ("mdy", "'3/2/2026", (2026, 3, 2)),
    ],
)
@pytest.mark.parametrize("build", [csv_bytes, xlsx_bytes], ids=["csv", "xlsx"])
def test_dates_are_read_in_the_order_of_the_site(order, text, day, build):
    assert value_of(FITTED_ON, text, order, build) == date(*day)


@pytest.mark.parametrize(
    "text", ["31/02/2026", "13/02/2026", "29 Feb 2026", "3/2", "soon", "2/3/0026", "46083"]
)
def test_a_day_that_is_none_is_refused_with_what_would_be_accepted(text):
    assert fault_of(FITTED_ON, text) == (
        f'Line 2, column "Fitted on": {text}. Accepted: a day that exists, such as '
        "2026-03-02 or 3/2/2026 or Mar 2, 2026 (month, day, year)."
    )


def test_numbers_with_the_year_last_are_refused_where_the_year_comes_first():
    assert "2/3/2026. Accepted: a day" in fault_of(FITTED_ON, "2/3/2026", order="ymd")


@pytest.mark.parametrize(
    "cell", [date(2026, 3, 2), datetime(2026, 3, 2, 16, 30), 46083, 46083.6875]
)
def test_native_and_serial_dates_of_a_workbook_are_days(cell):
    assert value_of(FITTED_ON, cell) == date(2026, 3, 2)


def test_serial_dates_follow_the_epoch_of_the_workbook():
    book = openpyxl.Workbook()
    book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    book.active.append(["Cart", "Fitted on"])
    book.active.append(["1", 46083 - 1462])

    (row,) = read_sheet(book_bytes(book), "mac.xlsx", [NUMBER, FITTED_ON]).rows()

    assert row["fitted_on"] == date(2026, 3, 2)


@pytest.mark.parametrize("cell", [True, 3, 10**9, time(4, 30), timedelta(hours=9)])
def test_what_is_no_day_in_a_workbook_is_refused(cell):
    assert "Accepted: a day that exists" in fault_of(FITTED_ON, cell)


@pytest.mark.parametrize(
    ("cell", "moment"),
    [
        ("2026-03-02 16:30", datetime(2026, 3, 2, 16, 30)),
        ("2026-03-02T16:30:05Z", datetime(2026, 3, 2, 16, 30, 5, tzinfo=UTC)),
        ("3/2/2026 4:30 pm", datetime(2026, 3, 2, 16, 30)),
        ("3/2/2026, 12:05 a.m.", datetime(2026, 3, 2, 0, 5)),
        ("Mar 2, 2026 at 7:05", datetime(2026, 3, 2, 7, 5)),
        (datetime(2026, 3, 2, 16, 30), datetime(2026, 3, 2, 16, 30)),
        ("3/2/2026", date(2026, 3, 2)),
        (datetime(2026, 3, 2), date(2026, 3, 2)),
        ("2026-03-02 00:00:00", date(2026, 3, 2)),
        ("2026-03-02 00:00Z", datetime(2026, 3, 2, tzinfo=UTC)),
    ],
)
def test_a_moment_keeps_its_time_and_a_day_stays_a_day(cell, moment):
    value = value_of(READ_AT, cell)

    assert (type(value), value) == (type(moment), moment)


def test_an_offset_is_kept():
    assert value_of(READ_AT, "2026-11-01T01:30-05:00").utcoffset() == timedelta(hours=-5)


@pytest.mark.parametrize("text", ["3/2/2026 25:00", "3/2/2026 13:00 pm", "3/2/2026 7:5"])
def test_a_time_that_is_none_is_refused(text):
    assert "Accepted: a day that exists" in fault_of(READ_AT, text)


@pytest.mark.parametrize(
    ("cell", "number"),
    [
        ("1,850.0", "1850.0"),
        ("412,5", "412.5"),
        (1850, "1850"),
        (412.1, "412.1"),
        (0.1 + 0.2, "0.3"),
        ("'4", "4"),
    ],
)
def test_numbers_are_exact(cell, number):
    assert value_of(SEATS, cell) == Decimal(number)


@pytest.mark.parametrize("cell", ["four", "1e5", True, date(2026, 3, 2), timedelta(hours=4)])
def test_what_is_no_number_is_refused(cell):
    assert "Accepted: a number such as 1,850.0" in fault_of(SEATS, cell)


@pytest.mark.parametrize(
    ("cell", "hours"),
    [
        ("412.5 h", "412.5"),
        ("412.5hrs", "412.5"),
        ("412:30", "412.5"),
        (timedelta(hours=412.5), "412.5"),
        (412.5, "412.5"),
    ],
)
def test_hours_are_read_with_their_word_or_as_a_span(cell, hours):
    assert value_of(HOURS, cell) == Decimal(hours)


@pytest.mark.parametrize("cell", ["412 mi", "4:75", "h", True])
def test_what_are_no_hours_is_refused(cell):
    assert "Accepted: hours such as 412.5" in fault_of(HOURS, cell)


def test_a_length_with_a_fraction_is_kept_as_typed():
    assert value_of(TYRE, "35 7/8 in") == Measure(
        "35 7/8 in", Decimal("35.875"), "in", Decimal("911.225")
    )


@pytest.mark.parametrize("cell", ["35 7/8 kg", "tall", date(2026, 3, 2), True])
def test_what_is_no_length_is_refused(cell):
    assert fault_of(TYRE, cell).endswith(
        "Accepted: a measure such as 35 7/8 in; without a unit it is in in."
    )


@pytest.mark.parametrize("cell", ["yes", "Y", "x", "X", "TRUE", "1", 1, 1.0, True, "Ja", "✓", "sí"])
def test_words_for_yes(cell):
    assert value_of(LIFTED, cell) is True


@pytest.mark.parametrize("cell", ["no", "No.", "N", "FALSE", "0", 0, False, "nein"])
def test_words_for_no(cell):
    assert value_of(LIFTED, cell) is False


@pytest.mark.parametrize("cell", ["maybe", "2", "yesno", date(2026, 3, 2)])
def test_other_words_are_neither_yes_nor_no(cell):
    assert fault_of(LIFTED, cell).endswith("Accepted: yes or no.")


@pytest.mark.parametrize(
    ("cell", "code"), [("Battery", "electric"), ("48v", "electric"), ("GAS", "petrol")]
)
def test_a_choice_is_read_by_any_of_its_words(cell, code):
    assert value_of(POWER, cell) == code


def test_another_choice_is_refused_with_the_words_there_are():
    assert fault_of(POWER, "steam").endswith("steam. Accepted: one of: electric, petrol.")


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (1001.0, "1001"),
        (1001, "1001"),
        ("0012", "0012"),
        ("'0012", "0012"),
        ("’90s", "’90s"),
        (12.5, "12.5"),
        ("=1+1", "=1+1"),
    ],
)
def test_a_painted_number_is_text_as_a_person_sees_it(cell, text):
    assert value_of(NOTE, cell) == text


def test_a_number_padded_with_zeros_by_its_format_keeps_them():
    book = openpyxl.Workbook()
    book.active.append(["Cart"])
    book.active.append([12])
    book.active["A2"].number_format = "0000"

    (row,) = read_sheet(book_bytes(book), "carts.xlsx", [NUMBER]).rows()

    assert row["number"] == "0012"


def test_control_characters_are_refused():
    assert "Accepted: text without control characters" in fault_of(NOTE, "a\x07b", build=csv_bytes)


@pytest.mark.parametrize(
    "cell", ["#N/A", "#REF!", "#DIV/0!", "#NAME?", "####", "-", "n/a", "", "  "]
)
def test_errors_are_blank_where_nothing_is_needed_and_faults_elsewhere(cell):
    content = csv_bytes([["Cart", "Hours"], ["1001", cell], [cell, "5"]])

    optional, needed = read_sheet(content, "x.csv", [NUMBER, HOURS]).rows()

    assert (optional["hours"], optional.faults) == (None, ())
    assert [str(fault) for fault in needed.faults] == [
        f'Line 3, column "Cart": {cell.strip() or "(empty)"}. Accepted: a value in this column.'
    ]


def test_a_formula_without_a_saved_result_is_a_fault():
    book = openpyxl.Workbook()
    book.active.append(["Cart", "Seats"])
    book.active.append(["1", "=2+2"])

    (row,) = read_sheet(book_bytes(book), "x.xlsx", [NUMBER, SEATS]).rows()

    assert [str(fault) for fault in row.faults] == [
        'Line 2, column "Seats": #NOT CALCULATED!. '
        "Accepted: a value (save the file again in a spreadsheet program)."
    ]


def test_all_faults_of_a_row_are_gathered_and_the_importer_adds_its_own():
    content = csv_bytes([["Cart", "Seats", "Lifted"], ["", "four", "maybe"]])

    (row,) = read_sheet(content, "x.csv", CARTS).rows()
    own = row.fault("seats", "at most %(most)d seats", most=8)

    assert [fault.column for fault in row.faults] == ["Cart", "Seats", "Lifted"]
    assert str(own) == 'Line 2, column "Seats": four. Accepted: at most 8 seats.'


def test_a_long_cell_is_a_fault_of_its_own():
    content = csv_bytes([["Cart", "Note"], ["1", "a" * 4001], ["2", "a" * 4000]])

    first, second = read_sheet(content, "x.csv", CARTS).rows()

    assert "Accepted: at most 4000 characters" in str(first.faults[0])
    assert second["note"] == "a" * 4000


def test_the_sheet_that_answers_best_is_taken_and_hidden_ones_are_not():
    book = openpyxl.Workbook()
    book.active.append(["Cart"])
    book.create_sheet("Best").append(["Cart", "Hours"])
    hidden = book.create_sheet("Old")
    hidden.append(["Cart", "Hours", "Seats"])
    hidden.sheet_state = "hidden"

    sheet = read_sheet(book_bytes(book), "x.xlsx", CARTS)

    assert sheet.grid.name == "Best"


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", r"carts.xlsx is empty"),
        (b" \r\n \n", r"carts.xlsx is empty"),
        (b"\xef\xbb\xbf", r"carts.xlsx is empty"),
        (b"%PDF-1.7 ...", r"another kind \(PDF\)"),
        (b"<!doctype html><table>", r"another kind \(HTML\)"),
        (bytes.fromhex("d0cf11e0a1b11ae1") + b"\0" * 600, r"old .xls form"),
        (
            bytes.fromhex("d0cf11e0a1b11ae1") + "EncryptedPackage".encode("utf-16-le"),
            r"locked with a password",
        ),
        (b"PK\x03\x04 and then nothing", r"damaged"),
        (b"Cart\0\x01\x02", r"neither an XLSX workbook nor a text file"),
    ],
)
def test_other_files_are_refused_with_what_to_do(content, message):
    with pytest.raises(SheetError, match=message):
        read_sheet(content, "carts.xlsx", CARTS)


def test_a_zip_that_holds_no_workbook_is_refused():
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as made:
        made.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")

    with pytest.raises(SheetError, match=r"no workbook in the \.xlsx form"):
        read_sheet(archive.getvalue(), "carts.xlsx", CARTS)


def test_a_zip_bomb_is_refused_while_it_unpacks():
    bomb = with_member(xlsx_bytes([HEADINGS, ROW]), "xl/media/zeros.bin", bytes(30_000_000))
    assert len(bomb) < 60_000

    with pytest.raises(SheetError, match=r"unpacks to more than is read"):
        read_sheet(bomb, "carts.xlsx", CARTS)


def test_a_bomb_that_lies_about_its_size_is_refused():
    bomb = bytearray(with_member(xlsx_bytes([HEADINGS, ROW]), "xl/media/x.bin", bytes(30_000_000)))
    size = (30_000_000).to_bytes(4, "little")
    while (place := bomb.find(size)) >= 0:
        bomb[place : place + 4] = (10).to_bytes(4, "little")

    with pytest.raises(SheetError, match=r"damaged"):
        read_sheet(bytes(bomb), "carts.xlsx", CARTS)


def test_too_many_members_are_refused():
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as made:
        for index in range(1_001):
            made.writestr(f"{index}.xml", "")

    with pytest.raises(SheetError, match=r"holds 1001 parts; at most 1000"):
        read_sheet(archive.getvalue(), "carts.xlsx", CARTS)


def test_xml_entities_are_refused():
    bomb = b'<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><worksheet>&b;</worksheet>'
    content = with_member(xlsx_bytes([HEADINGS, ROW]), "xl/worksheets/sheet1.xml", bomb)

    with pytest.raises(SheetError, match=r"damaged"):
        read_sheet(content, "carts.xlsx", CARTS)


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


def test_texts_that_a_workbook_keeps_apart_are_read():
    content = shared_strings_workbook(["Cart", "Note", "12", "two_x000D_\nlines"], [[0, 1], [2, 3]])

    (row,) = read_sheet(content, "x.xlsx", [NUMBER, NOTE]).rows()

    assert (row["number"], row["note"]) == ("12", "two\nlines")


def test_a_text_that_is_not_there_is_damage():
    content = shared_strings_workbook(["Cart"], [[0], [9]])

    with pytest.raises(SheetError, match=r"damaged"):
        read_sheet(content, "x.xlsx", [NUMBER])


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


CELL = st.text(
    st.characters(codec="cp1252", exclude_categories=["Cc"], exclude_characters="'\xa0"),
    max_size=30,
).map(lambda text: " ".join(text.split()))
SAID = CELL.filter(
    lambda text: text not in {"", "-", "–", "—", "--", "n/a", "N/A"} and text[0] != "#"
)
TABLE = st.lists(st.tuples(SAID, CELL.map(lambda text: "." + text)), max_size=8)
FEWER = settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow], deadline=None)


def texts(content):
    sheet = read_sheet(content, "x", [NUMBER, NOTE])
    return [(row["number"], row["note"]) for row in sheet.rows()]


@FEWER
@given(
    TABLE,
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["utf-8", "utf-8-sig", "cp1252", "utf-16"]),
    st.sampled_from([csv.QUOTE_ALL, csv.QUOTE_MINIMAL]),
    st.sampled_from(["\n", "\r\n"]),
)
def test_any_table_written_as_csv_is_read_back(rows, delimiter, encoding, quoting, ending):
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=delimiter, quoting=quoting, lineterminator=ending)
    writer.writerows([("Cart #", "Remarks"), *rows])

    assert texts(text.getvalue().encode(encoding)) == rows


@FEWER
@given(TABLE)
def test_any_table_written_as_xlsx_is_read_back(rows):
    assert texts(xlsx_bytes([("Cart #", "Remarks"), *rows])) == rows


@FEWER
@given(st.dates(date(1950, 1, 1), date(2099, 12, 31)), st.sampled_from(["mdy", "dmy", "ymd"]))
def test_any_day_written_in_the_order_of_the_site_is_read_back(day, order):
    written = {"mdy": "%m/%d/%Y", "dmy": "%d.%m.%Y", "ymd": "%Y/%m/%d"}[order]

    assert value_of(FITTED_ON, day.strftime(written), order, csv_bytes) == day
    assert value_of(FITTED_ON, f"{day:%d %b %Y}", order, csv_bytes) == day


def read_all(content):
    """Read everything there is, letting only SheetError pass."""
    try:
        sheet = read_sheet(content, "fuzz", CARTS, order="dmy")
        for row in sheet.rows():
            [str(fault) for fault in row.faults]
        [str(words) for words in sheet.found()]
    except SheetError as refused:
        assert str(refused)


@settings(max_examples=200, deadline=None)
@given(
    st.one_of(
        st.binary(max_size=300),
        st.text(max_size=200).map(
            lambda text: f"Cart,Hours,Fitted on,Tyre size\n{text}".encode("utf-8", "replace")
        ),
    )
)
def test_any_bytes_raise_nothing_but_a_sheet_error(content):
    read_all(content)


WORKBOOK = messy_workbook(3)


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, len(WORKBOOK) - 1), st.integers(0, 255)), min_size=1, max_size=6
    )
)
def test_a_workbook_with_changed_bytes_raises_nothing_but_a_sheet_error(changes):
    content = bytearray(WORKBOOK)
    for place, byte in changes:
        content[place] = byte

    read_all(bytes(content))


PARTS = [
    "xl/workbook.xml",
    "xl/worksheets/sheet2.xml",
    "xl/styles.xml",
    "[Content_Types].xml",
    "xl/_rels/workbook.xml.rels",
]


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(PARTS), st.data())
def test_a_workbook_with_changed_xml_raises_nothing_but_a_sheet_error(part, data):
    xml = member(WORKBOOK, part)
    start = data.draw(st.integers(0, len(xml)))
    end = data.draw(st.integers(start, min(len(xml), start + 20)))
    patch = data.draw(st.sampled_from([b"", b"9", b"-1", b"x", b"99999999999", b"1e999", b"nan"]))

    read_all(with_member(WORKBOOK, part, xml[:start] + patch + xml[end:]))
