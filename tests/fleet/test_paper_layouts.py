import pytest

from fleet.bundle.columns import DAY, MOMENT
from fleet.bundle.paper.blocks import GAP_MM, MARGIN_MM, PT_A_MM, TABLE_PT, Sheet
from fleet.bundle.paper.carts import LIFTED, PLAIN
from fleet.bundle.paper.chapters_layouts import FINDINGS, IN_CHAPTERS
from fleet.bundle.paper.letters import bold, regular
from fleet.bundle.paper.places import IN_REPORT
from fleet.bundle.tables import all_tables

TURNED = [*IN_REPORT, LIFTED, PLAIN]
LAYOUTS = [*((one, True) for one in TURNED), *((one, False) for one in (*IN_CHAPTERS, FINDINGS))]
DAYS = {
    column.name
    for table in all_tables()
    for column in table.columns
    if column.unit in (DAY, MOMENT)
}


def named(value):
    return value.title if hasattr(value, "title") else None


@pytest.mark.parametrize(("layout", "is_turned"), LAYOUTS, ids=named)
def test_layouts_name_columns_that_there_are(layout, is_turned):
    (table,) = [table for table in all_tables() if table.name == layout.file]

    assert [name for name, _title, _share in layout.columns if name not in table.names] == []


@pytest.mark.parametrize("sheet", ["a4", "us-letter"])
@pytest.mark.parametrize(("layout", "is_turned"), LAYOUTS, ids=named)
def test_titles_of_columns_break_between_words_alone(layout, is_turned, sheet):
    said = layout.grid([], "UTC").said(Sheet(sheet, turned=is_turned))

    for title, width_mm in zip(said["titles"], said["widths"], strict=True):
        for word in title.split():
            assert width_pt(word, bold()) <= inner_pt(width_mm), f"{title}: {word}"


@pytest.mark.parametrize("sheet", ["a4", "us-letter"])
@pytest.mark.parametrize(("layout", "is_turned"), LAYOUTS, ids=named)
def test_days_stand_on_one_line(layout, is_turned, sheet):
    said = layout.grid([], "UTC").said(Sheet(sheet, turned=is_turned))

    for (name, _title, _share), width_mm in zip(layout.columns, said["widths"], strict=True):
        if name in DAYS:
            assert width_pt("2026-12-20", regular()) <= inner_pt(width_mm), name


def width_pt(text, letters):
    return sum(letters.width_em(letter) for letter in text) * TABLE_PT


def inner_pt(width_mm):
    return (width_mm - 2 * GAP_MM) * PT_A_MM


def test_a_table_fills_the_sheet_between_its_margins():
    said = LIFTED.grid([], "UTC").said(Sheet("a4", turned=True))

    # ISO 216: 297 mm long
    assert sum(said["widths"]) == pytest.approx(297 - 2 * MARGIN_MM)
