import csv
import io
import re
from decimal import Decimal

import django_tables2 as tables
import pytest
from django.test import RequestFactory
from django.views.generic import TemplateView
from django_tables2.views import SingleTableMixin
from hypothesis import given
from hypothesis import strategies as st

from shared.tables import BaseTable, CsvList, NumberColumn, csv_response, guarded


class CartTable(BaseTable):
    caption = "Carts of the yard"
    csv_name = "carts"

    cart = tables.Column()
    note = tables.Column(orderable=False)
    turn_mm = NumberColumn(verbose_name="Turn, mm")

    class Meta(BaseTable.Meta):
        empty_text = "No cart yet."


def rows(count):
    return [{"cart": f"{n}", "note": "", "turn_mm": Decimal(n)} for n in range(1, count + 1)]


def shown(table, address="/carts/"):
    request = RequestFactory().get(address)
    tables.RequestConfig(request, paginate={"per_page": 2}).configure(table)
    return table.as_html(request)


def lines(response):
    return b"".join(response.streaming_content).decode("utf-8")


@pytest.mark.parametrize(
    "start", ["=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "＋", "－", "＠"]
)
def test_guarded_puts_a_mark_before_what_a_spreadsheet_would_run(start):
    assert guarded(f"{start}1+1") == f"'{start}1+1"


def test_guarded_looks_behind_leading_spaces():
    assert guarded("  =1+1") == "'  =1+1"


@pytest.mark.parametrize("text", ["142", "35 7/8 in", "a=b", "don't", ""])
def test_guarded_leaves_plain_text(text):
    assert guarded(text) == text


@pytest.mark.parametrize(
    ("value", "numeric", "cell"),
    [
        (Decimal("-0.25"), True, "-0.25"),
        ("-0,25", True, "-0,25"),
        (-3, True, "-3"),
        (Decimal("-0.25"), False, "'-0.25"),
        ("-1+cmd()", True, "'-1+cmd()"),
        ("-1\n", True, "'-1\n"),
        (None, True, ""),
    ],
)
def test_guarded_lets_numbers_through_in_a_column_of_numbers_only(value, numeric, cell):
    assert guarded(value, numeric=numeric) == cell


def test_csv_response_is_rfc_4180_with_a_byte_order_mark_and_every_row():
    table = CartTable(
        [
            {"cart": "7", "note": 'said "loose", left', "turn_mm": Decimal("-1.50")},
            {"cart": "8", "note": "=1+1", "turn_mm": None},
            {"cart": "9", "note": "two\nlines", "turn_mm": Decimal("2")},
        ]
    )
    shown(table)

    response = csv_response(table, "carts")

    assert lines(response) == (
        '\ufeffCart,Note,"Turn, mm"\r\n'
        '7,"said ""loose"", left",-1.50\r\n'
        "8,'=1+1,\r\n"
        '9,"two\nlines",2\r\n'
    )
    assert response["Content-Disposition"] == 'attachment; filename="carts.csv"'
    assert response["Content-Type"] == "text/csv; charset=utf-8"


@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=20))
def test_csv_gives_back_every_note_behind_its_guard(note):
    table = CartTable([{"cart": "7", "note": note, "turn_mm": Decimal(1)}])

    text = lines(csv_response(table, "carts")).removeprefix("\ufeff")

    [_, row] = csv.reader(io.StringIO(text, newline=""))
    assert row == ["7", guarded(note), "1"]


def test_table_says_how_it_is_sorted_and_names_each_cell():
    html = shown(CartTable(rows(1)), "/carts/?sort=-turn_mm")

    heads = re.findall(r"<th [^>]*>", html)
    assert heads == [
        '<th scope="col">',
        '<th scope="col">',
        '<th scope="col" class="num" aria-sort="descending">',
    ]
    assert re.findall(r'data-label="([^"]*)"', html) == ["Cart", "Note", "Turn, mm"]
    assert "<caption>Carts of the yard</caption>" in html
    assert re.findall(r'<a href="([^"]*)">', html) == ["?sort=cart", "?sort=turn_mm"]


def test_table_pages_keep_the_order_and_the_csv_leaves_the_page_out():
    html = shown(CartTable(rows(5)), "/carts/?sort=-turn_mm&page=2")

    links = dict(re.findall(r'<a (?:class="paging-csv" )?href="([^"]*)"[^>]*>([^<]*)<', html))
    assert links["?sort=-turn_mm&amp;page=1"] == "Earlier rows"
    assert links["?sort=-turn_mm&amp;page=3"] == "Further rows"
    assert links["?sort=-turn_mm&amp;file=csv"] == "This list as CSV"
    assert "Rows 3 to 4 of 5" in html


def test_table_of_one_page_has_no_way_on():
    html = shown(CartTable(rows(2)))

    assert 'rel="next"' not in html
    assert 'rel="prev"' not in html
    assert "Rows" not in html


def test_empty_table_says_so():
    html = shown(CartTable([]))

    assert '<tr><td colspan="3">No cart yet.</td></tr>' in html


def test_csv_list_answers_with_the_file_only_when_asked():
    class CartList(CsvList, SingleTableMixin, TemplateView):
        table_class = CartTable
        table_data = rows(3)
        template_name = "shared/_table.html"

    page = CartList.as_view()(RequestFactory().get("/carts/"))
    file = CartList.as_view()(RequestFactory().get("/carts/?file=csv"))

    assert page.render().content.count(b"<tr>") == 4
    assert lines(file).count("\r\n") == 4
