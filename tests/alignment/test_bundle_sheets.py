"""Camber and toe in the bundle's tables: results, sheets, readings, turns, figures."""

import pytest

from shared.facts import record
from shared.models import Photo
from tests.alignment_factories import PassesFactory, SheetFactory, ToeFactory
from tests.fleet.alignment_story import (
    MEASURED,
    measured,
    square,
    tape,
    tell_of_alignment,
)
from tests.fleet.bundle_tables import tables_of
from tests.fleet.bundling import Fleet, on

pytestmark = pytest.mark.django_db

NOW = on(4, 1)


@pytest.fixture
def fleet():
    return Fleet("harbour")


@pytest.fixture
def cart(fleet):
    """A lifted cart, with a sheet of before passes in the round that closed its fitting."""
    return fleet.lifted("7", on(3, 2))


class Told:
    """The rows of one sheet in the site's tables."""

    def __init__(self, tables, sheet):
        self.tables, self.sheet = tables, str(sheet.pk)

    def rows(self, name):
        return [row for row in self.tables.rows(name) if row["sheet"] == self.sheet]

    def row(self, name, **wanted):
        return self.tables.row(name, sheet=self.sheet, **wanted)


@pytest.fixture
def told(fleet, cart):
    sheet = tell_of_alignment(fleet, cart)
    return Told(tables_of(fleet.site, NOW), sheet)


def test_result_says_how_well_it_is_known_and_of_which_pass(told):
    row = told.row("alignments", result="toe")

    # the same readings as the worked case: 3/16, 7/32, 5/32 in with 1/32 in marks
    assert (row["value"], row["verdict"], row["readings"], row["pass"]) == (
        "4.762",
        "inside",
        "3",
        "4",
    )
    assert 0.95 < float(row["probability_inside"]) < 1
    assert told.row("alignments", result="camber left")["probability_inside"] == "0.999"
    assert float(row["freedom"]) > 2
    # 2 asin(t / 2D) at 22 in
    assert (row["diameter_mm"], row["total_deg"]) == ("558.8", "0.488")
    assert row["limits_from"] == "site's own: HX-4 sheet, edition B"


def test_side_to_side_is_of_the_later_pass_and_camber_has_no_angle_of_toe(told):
    rows = {row["result"]: row for row in told.rows("alignments")}

    assert {name: row["pass"] for name, row in rows.items()} == dict.fromkeys(rows, "4")
    assert rows["side to side"]["total_deg"] == rows["camber left"]["total_deg"] == ""


def test_sheet_tells_what_held_and_what_it_comes_to(told):
    (row,) = told.rows("alignment_sheets")

    assert {name: row[name] for name in ("passes", "drive_pass", "driven")} == {
        "passes": "4",
        "drive_pass": "4",
        "driven": "yes",
    }
    assert (row["pressure_set_typed"], row["pressure_right_kpa"]) == ("20 psi", "")
    assert (row["floor_level"], row["is_settled"], row["after_kerb_hit"]) == ("yes", "no", "no")
    assert (row["camber_adjusts"], row["jam_nuts"], row["asked_for_more"]) == (
        "sleeve",
        "yes",
        "no",
    )
    assert (row["readings"], row["void_readings"], row["turns"]) == ("11", "6", "3")
    assert (row["verdict"], row["is_last"]) == ("inside", "yes")


def test_each_reading_stands_as_read_and_says_whether_it_is_void(told):
    rows = told.rows("alignment_readings")

    first, last = rows[0], rows[-1]
    assert (first["value_of"], first["gap_top_typed"], first["gap_top_mm"]) == (
        "camber left",
        "3/8 in",
        "9.525",
    )
    # atan((1/16 - 3/8) / 12)
    assert (first["value"], first["unit"], first["is_void"]) == ("-1.492", "deg", "yes")
    assert last["as_read"] == "front 35 7/8 in; rear 36 1/32 in"
    assert (last["front_typed"], last["rear_typed"], last["value"]) == (
        "35 7/8 in",
        "36 1/32 in",
        "3.969",
    )
    assert [row["pass"] for row in rows if row["is_void"] == "no"] == ["4"] * 5
    assert [row["half_turn"] for row in rows if row["gauge_typed"]] == ["yes"]


def test_each_turn_stands_with_what_it_did(told):
    sleeve, left, right = told.rows("alignment_turns")

    assert (sleeve["what"], sleeve["at"], sleeve["longer_flats"]) == ("sleeve", "left", "3")
    assert (sleeve["before"], sleeve["after"], sleeve["unit"]) == ("-1.492", "0", "deg")
    assert (left["at"], right["at"], right["longer_flats"]) == ("left", "right", "4")
    # from 1/2 in to 3/16 in
    assert (right["moves"], right["before"], right["after"]) == ("toe", "12.7", "4.762")
    assert (right["formula_mm"], right["predicted_mm"]) == ("-4.07", "4.5466")


def test_figures_of_the_site_say_whose_they_are_and_until_when(told, fleet):
    before, now = told.tables.rows("alignment_figures")

    assert (before["source"], before["rods"]) == ("Board of the harbour", "")
    assert before["until_at"] == now["received_at"] != ""
    assert (now["rods"], now["arm_typed"], now["until_at"]) == ("two", "4.5 in", "")
    assert now["spec"] == told.row("alignment_sheets")["spec"]
    assert tables_of(fleet.site, on(3, 4)).rows("alignment_figures") == []


def test_limits_of_a_sheet_without_any_told_are_the_default(fleet, cart):
    sheet = measured(fleet, cart, MEASURED, PassesFactory.build(), [tape("36 1/16", 1)])

    row = Told(tables_of(fleet.site, NOW), sheet).row("alignment_sheets")
    assert (row["spec"], row["toe_low_mm"], row["toe_high_mm"]) == ("", "3.175", "6.35")


def test_figures_of_another_site_are_not_told(fleet, cart):
    tell_of_alignment(fleet, cart)
    other = Fleet("osprey")

    assert tables_of(other.site, NOW).rows("alignment_figures") == []


def test_entry_of_before_passes_leaves_the_later_columns_empty(fleet, cart):
    lines = [ToeFactory.build(), ToeFactory.build()]
    made = measured(fleet, cart, MEASURED, SheetFactory.build(), lines)

    told = Told(tables_of(fleet.site, NOW), made)
    row, sheet = told.row("alignments", result="toe"), told.row("alignment_sheets")

    later = ("probability_inside", "freedom", "readings", "pass", "limits_from")
    assert [row[name] for name in later] == [""] * 5
    assert (row["value"], row["total_deg"]) == ("4.762", "0.488")
    later = ("passes", "floor_level", "is_settled", "camber_adjusts", "jam_nuts", "asked_for_more")
    assert [sheet[name] for name in (*later, "floor_plates")] == [""] * 7
    assert {row["pass"] for row in told.rows("alignment_readings")} == {""}


def test_cart_measured_outside_is_counted_until_a_later_sheet_is_inside(fleet, cart):
    found = [square("left", "3/8", "1/16", 1), square("right", "1/8", "1/8", 1)]
    outside = measured(fleet, cart, on(3, 4), PassesFactory.build(), [*found, tape("36 1/16", 1)])
    inside = tell_of_alignment(fleet, cart)

    counts, tables = {}, {}
    for day in (on(3, 3, 12), on(3, 10), NOW):
        tables = tables_of(fleet.site, day)
        counts[day] = tables.row("figures", code="alignment_outside")["value"]

    assert list(counts.values()) == ["0", "1", "0"]
    rows = [Told(tables, sheet).row("alignment_sheets") for sheet in (outside, inside)]
    assert [(row["verdict"], row["is_last"]) for row in rows] == [
        ("outside", "no"),
        ("inside", "yes"),
    ]


def test_sheet_names_the_photo_of_an_odd_reading_and_no_other(fleet, cart):
    sheet = tell_of_alignment(fleet, cart, confirmed=True)
    about = {"site": fleet.site, "by": fleet.mechanic, "cart_id": cart.pk, "about": sheet.pk}
    for shows, digit in (("other", "a"), ("tape", "b")):
        sums = {"original_sha256": digit * 64, "copy_sha256": digit * 64}
        record(Photo(shows=shows, width=4, height=3, **sums, **about), at=on(3, 12, 10))

    row = Told(tables_of(fleet.site, NOW), sheet).row("alignment_sheets")

    assert (row["confirmed"], row["tape_photo"]) == ("yes", "b" * 64)
