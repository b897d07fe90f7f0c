"""Tables of lines: a cell that says otherwise than its line, a line that is left out."""

import io
import json
import re

import pytest

from fleet.checkers import check
from tests.fleet.alignment_story import KINDS, tell_of_alignment
from tests.fleet.bundling import Fleet, bundled, on
from tests.fleet.checkers.both_ways import by_page, by_python
from tests.fleet.checkers.building import (
    KEY,
    Draft,
    Story,
    column,
    csv_of,
    draft_of,
    meta_of,
    zipped,
)
from tests.fleet.checkers.test_check_kinds import put, report_of
from tests.fleet.checkers.test_check_real import SCOPES, bodies_of, packed

NOW = on(3, 20)
SHEET = "alignment.cambertoesheet"
CAMBER, TURN = "alignment.camberreading", "alignment.turn"


def in_line(name, datatype="string"):
    said = {"propertyUrl": f"urn:cart-records:line:{name}"}
    return {"name": name, "titles": name, "datatype": datatype, **said}


def columns_of(table):
    """Return columns that repeat all that a checker asks of a table of lines."""
    _table, fields = next(told for told in check.LINES_IN.values() if told[0] == table)
    of_line = sorted(name.removeprefix("line:") for name in fields if name.startswith("line:"))
    return [
        *(column(name, name) for name in ("id", "cart", "done_at")),
        *(in_line(name, "integer" if name == "place" else "string") for name in of_line),
    ]


class Lines:
    """A bundle of one sheet with three readings and a turn; ``rows`` are those of its tables."""

    def __init__(self, passes=3):
        self.story = Story()
        read = {"side": "left", "gap_top_typed": "3/8 in"}
        lines = [
            *({"of": CAMBER, "place": place, **read} for place in (0, 1, 2)),
            {"of": TURN, "place": 2, "what": "sleeve", "at": "left", "longer_flats": "-3.00"},
        ]
        cart = self.story.carts[0][0]
        said = {"passes": passes, "mark_typed": "1/32 in", "limits_from": None}
        self.story.add(SHEET, cart=cart, lines=lines, diameter_typed="22 in", **said)
        self.body = self.story.entries[-1].said
        self.columns = {name: columns_of(name) for name in LINE_TABLES}
        self.rows = {table: list(self._rows(table)) for table in LINE_TABLES}

    def _rows(self, table):
        for line in self.body["lines"]:
            if check.LINES_IN[line["of"]][0] == table:
                cells = (_cell(line, self.body, one) for one in self.columns[table])
                yield ["" if cell is None else str(cell) for cell in cells]

    def cell(self, table, row, name, text):
        place = [one["name"] for one in self.columns[table]].index(name)
        self.rows[table][row][place] = text

    def data(self):
        draft = draft_of(self.story)
        for table, columns in self.columns.items():
            put(draft, table, csv_of(columns, self.rows[table]), meta_of(table, columns, "id"))
        for table, fields in (check.TOLD_IN[SHEET], check.TOLD_SINCE[SHEET][1:]):
            columns = [column(name, name) for name in ("id", *sorted(fields - {"id"}))]
            row = [str(self.body[one["name"]] or "") for one in columns]
            put(draft, table, csv_of(columns, [row]), meta_of(table, columns, "id"))
        return zipped(draft.sealed())


LINE_TABLES = ("alignment_readings.csv", "alignment_turns.csv")
READINGS, TURNS = LINE_TABLES


def _cell(line, body, column):
    said = line if ":line:" in column["propertyUrl"] else body
    return said.get(column["name"])


def untouched(lines):
    pass


def other_cell(lines):
    lines.cell(READINGS, 1, "gap_top_typed", "1/8 in")


def longer_for_shorter(lines):
    lines.cell(TURNS, 0, "longer_flats", "3.00")


def no_such_line(lines):
    lines.cell(READINGS, 2, "place", "7")


def line_of_another_kind(lines):
    lines.cell(READINGS, 2, "of", TURN)


def without_a_reading(lines):
    del lines.rows[READINGS][1:]


def one_reading_twice(lines):
    lines.rows[READINGS][1] = lines.rows[READINGS][0]


def without_a_turn(lines):
    lines.rows[TURNS].clear()


def without_saying_which_line(lines):
    lines.columns[TURNS] = [
        {**one, "propertyUrl": "urn:cart-records:line:at"} if one["name"] == "place" else one
        for one in lines.columns[TURNS]
    ]


def without_repeating_what_was_read(lines):
    for one in lines.columns[READINGS]:
        if one["name"] == "gap_top_typed":
            del one["propertyUrl"]


NAMED = {
    other_cell: 'readings.csv row 2: gap_top_typed is "1/8 in", its entry says "3/8 in"',
    longer_for_shorter: 'turns.csv row 1: longer_flats is "3.00", its entry says "-3.00"',
    no_such_line: f'readings.csv row 3: its entry has no line "{CAMBER} 7"',
    line_of_another_kind: "readings.csv does not tell of 1 line of entry 1, which stands",
    without_a_reading: "readings.csv does not tell of 2 lines of entry 1, which stands",
    one_reading_twice: "readings.csv does not tell of 1 line of entry 1, which stands",
    without_a_turn: "turns.csv does not tell of 1 line of entry 1, which stands",
    without_saying_which_line: "its metadata: it does not say which line of its entry",
    without_repeating_what_was_read: "its metadata does not say what of the entries it repeats",
}


def spoilt(way, passes=3):
    lines = Lines(passes)
    way(lines)
    return lines.data()


def test_lines_that_are_all_told_are_clean():
    report = report_of(spoilt(untouched))

    assert report.is_clean, list(report.lines())


@pytest.mark.parametrize("way", NAMED)
def test_what_is_wrong_with_a_line_is_named(way):
    report = report_of(spoilt(way))

    assert report.failed == ["tables"]
    assert any(NAMED[way] in line for line in report.found["tables"][1]), report.found["tables"]


@pytest.mark.browser
@pytest.mark.parametrize("way", [untouched, *NAMED])
def test_the_page_says_the_same_of_lines(opened, way):
    data = spoilt(way)

    assert by_page(opened, data) == by_python(data)
    if way in NAMED:
        assert NAMED[way] in opened.inner_text("#checks")


def test_an_entry_of_before_passes_needs_no_row_for_its_lines():
    assert report_of(spoilt(without_a_reading, passes=None)).is_clean


@pytest.fixture
def fleet():
    fleet = Fleet("harbour")
    tell_of_alignment(fleet, fleet.lifted("7", on(3, 2)))
    return fleet


@pytest.mark.django_db
@pytest.mark.parametrize("scope", SCOPES)
def test_bundle_with_camber_and_toe_is_clean(fleet, tmp_path, scope):
    """Sheets of before passes stand among those after."""
    data = packed(fleet.site, tmp_path, **SCOPES[scope])
    report, _bundle = check.check(io.BytesIO(data))

    assert report.is_clean, list(report.lines())
    assert {body["kind"] for body in bodies_of(data)} >= KINDS


TAMPERED = {
    "alignment_sheets.csv": (b",20 psi,", b",22 psi,"),
    "alignment_readings.csv": (b",3/8 in,", b",1/8 in,"),
    "alignment_turns.csv": (b",sleeve,left,3,", b",sleeve,left,2,"),
    "alignment_figures.csv": (b"Board of the harbour", b"Board of the haven"),
    "alignments.csv": (b"HX-4 sheet", b"HX-5 sheet"),
}


def tampered(fleet, folder, table):
    """Return the bundle with one cell changed and all of it sealed anew, by the site's own hand."""
    read = bundled(fleet.site, folder, NOW)
    before, after = TAMPERED[table]
    files = dict(read.members)
    assert before in files[f"tables/{table}"]
    files[f"tables/{table}"] = files[f"tables/{table}"].replace(before, after, 1)
    manifest = json.loads(files.pop("manifest.json"))
    del files["manifest.signature"]
    return zipped(Draft(files, manifest, KEY).sealed())


@pytest.mark.django_db
@pytest.mark.browser
@pytest.mark.parametrize("table", TAMPERED)
def test_one_cell_told_otherwise_fails_both_ways(fleet, tmp_path, opened, table):
    data = tampered(fleet, tmp_path, table)
    report, _bundle = check.check(io.BytesIO(data))

    assert report.found["tables"][0] == check.FAILED
    named = rf"tables/{re.escape(table)} row \d+: \w+ is .+, its entry says "
    assert re.match(named, report.found["tables"][1][0])
    assert by_page(opened, data) == report.verdicts
