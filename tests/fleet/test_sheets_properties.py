"""Any table reads back as written; any bytes raise nothing but a SheetError."""

import csv
import io
from datetime import date

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet.sheets import SheetError, read_sheet
from tests.fleet.one_cell import value_of
from tests.fleet.sheet_samples import (
    CARTS,
    FITTED_ON,
    NOTE,
    NUMBER,
    csv_bytes,
    member,
    messy_workbook,
    with_member,
    xlsx_bytes,
)

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
