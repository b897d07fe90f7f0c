"""A whole print of a fleet with something of everything: it says what the tables say."""

import csv

import pytest

from fleet.bundle.archive import write_tables
from fleet.bundle.paper.carts import LIFTED, PLAIN
from fleet.bundle.paper.chapters_layouts import FINDINGS, IN_CHAPTERS, READINGS
from fleet.bundle.paper.places import IN_REPORT
from fleet.bundle.paper.reading import worded
from fleet.bundle.paper.report_layouts import FIGURES, QUESTIONS
from fleet.bundle.scope import Scope
from fleet.kinds import Cut
from tests.fleet.bundling import Fleet, on
from tests.fleet.papers import Prints, bare

pytestmark = pytest.mark.django_db
AT = on(3, 20)
ON_ONE_PAGE = 300


def told(site, folder, **scope) -> Prints:
    folder.mkdir()
    scope = Scope(site, Cut(AT, AT), **scope)
    write_tables(scope, folder / "tables", lambda percent: None)
    return Prints(folder / "tables", folder / "papers", scope=scope)


def cells(folder, layout):
    """Yield each cell that a layout shows, as it is printed."""
    with (folder / "tables" / layout.file).open(encoding="utf-8-sig", newline="") as file:
        for row in csv.DictReader(file):
            shown = (worded(row[name], "America/New_York") for name, *_more in layout.columns)
            # what comes later may stand on the next page
            yield from (cell[:ON_ONE_PAGE] for cell in shown)


def test_prints_say_what_the_tables_say_and_nothing_of_another_site(tmp_path):
    fleet, other = Fleet("Harbour"), Fleet("Canary")
    fleet.tell_everything()
    other.tell_everything()

    prints = told(fleet.site, tmp_path / "bundle", with_names=True)

    said = bare(prints.all_text)
    for layout in (*IN_REPORT, *IN_CHAPTERS, FINDINGS, LIFTED, PLAIN):
        if layout not in (QUESTIONS, READINGS, FIGURES):
            shown = list(cells(tmp_path / "bundle", layout))
            assert [cell for cell in shown if bare(cell) not in said] == []
    for words in ("Kit of Harbour", "Note at Harbour", "Rattles at Harbour", "Closed at Harbour"):
        assert bare(words) in said
    assert "Canary" not in said


def test_people_stand_by_reference_unless_asked(tmp_path):
    fleet = Fleet("Harbour")
    fleet.tell_everything()

    by_name = told(fleet.site, tmp_path / "named", with_names=True)
    by_reference = told(fleet.site, tmp_path / "referred")

    assert fleet.mechanic.name in by_name.all_text
    assert fleet.mechanic.name not in by_reference.all_text
    assert "by reference, such as P-0007" in by_reference.text("report.pdf")


def test_each_question_says_where_it_is_answered(tmp_path):
    fleet = Fleet("Harbour")

    report = told(fleet.site, tmp_path / "bundle").text("report.pdf")

    start = report.index("Twenty questions", report.index("Table Columns In this print") - 300)
    said = report[start:]
    for number in range(1, 21):
        assert f"{number} " in said
    assert "insurer_not_told.csv cart; lifted_since report: Insurer not told" in said


def test_cover_says_what_the_bundle_leaves_out(tmp_path):
    fleet = Fleet("Harbour")

    whole = told(fleet.site, tmp_path / "whole").cover()
    some = told(fleet.site, tmp_path / "some", from_day=AT.date(), lifted_only=True)

    assert "From the first entry on" in whole
    assert "Carts every cart, lifted and plain" in whole
    assert "From 2026-03-20" in some.cover()
    assert "Carts those alone that carry or carried a lift" in some.cover()
