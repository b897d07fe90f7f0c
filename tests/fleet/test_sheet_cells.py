"""What each kind of column makes of a cell, and what it refuses."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import openpyxl
import pytest

from fleet.sheets import read_sheet
from shared.units import Measure
from tests.fleet.one_cell import fault_of, value_of
from tests.fleet.sheet_samples import (
    CARTS,
    FITTED_ON,
    HOURS,
    LIFTED,
    NOTE,
    NUMBER,
    POWER,
    READ_AT,
    SEATS,
    TYRE,
    book_bytes,
    csv_bytes,
    xlsx_bytes,
)


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


def test_a_long_cell_is_a_fault_of_its_own():
    content = csv_bytes([["Cart", "Note"], ["1", "a" * 4001], ["2", "a" * 4000]])

    first, second = read_sheet(content, "x.csv", CARTS).rows()

    assert "Accepted: at most 4000 characters" in str(first.faults[0])
    assert second["note"] == "a" * 4000
