"""A sheet in passes as rows of findings.csv: what it proves, what held, then pass by pass."""

from decimal import Decimal

import pytest

from alignment.bundle import rows_of
from tests.alignment_factories import PassesFactory, TurnFactory, mm, placed
from tests.fleet.alignment_story import DONE, square, tape, worked_lines


def told(sheet, *lines):
    """Return the rows of a sheet as {item: (found, detail)}, and its items in order."""
    rows = rows_of(sheet, placed(*lines), "camber-toe")
    return {row["item"]: (row["found"], row["detail"]) for row in rows}, [r["item"] for r in rows]


def worked(**fields):
    return told(PassesFactory.build(**{**DONE, **fields}), *worked_lines())


def test_results_say_how_probable_inside_is_and_of_how_many_readings():
    rows, _items = worked(limits_from="HX-4 sheet")

    found, detail = rows["toe"]
    assert found == "inside"
    assert detail.startswith("+4.8 mm (+0.188 in) ±")
    assert "; over 99 % likely inside; 3 readings; " in detail
    assert detail.endswith("effective degrees of freedom 4, from the readings’ own scatter")
    limits = "camber -0.5 to +0.5 degrees; side to side 0.5 degrees; toe +3.175 to +6.35 mm"
    assert rows["limits"] == ("HX-4 sheet", limits)


def test_passes_stand_in_their_order_each_step_before_its_readings():
    _rows, items = worked()

    assert items[items.index("pass 1: camber left") :] == [
        "pass 1: camber left",
        "pass 1: camber right",
        "pass 1: toe",
        "before pass 2: camber sleeve left",
        "pass 2: camber left",
        "pass 2: toe",
        "before pass 3: tie rod left",
        "before pass 3: tie rod right",
        "pass 3: toe",
        "before pass 4",
        "pass 4: camber left",
        "pass 4: camber right",
        "pass 4: toe",
        "pass 4: toe",
        "pass 4: toe",
    ]


def test_a_reading_stands_as_read_and_says_that_it_is_void_or_after_half_a_turn():
    rows, _items = worked()

    assert rows["pass 1: camber left"] == (
        "-1.49°",
        "top 3/8 in; bottom 1/16 in; between 12 in; void",
    )
    assert rows["pass 4: camber left"][1] == "top 1/8 in; bottom 1/8 in; between 12 in"
    assert rows["pass 4: camber right"] == ("+0.00°", "gauge 0; after half a turn")
    assert rows["before pass 4"] == ("driven", "")


@pytest.mark.parametrize(
    ("flats", "found"),
    [
        (Decimal(3), "3 flats longer"),
        (Decimal("-0.50"), "0.5 flats shorter"),
        (Decimal(-1), "1 flat shorter"),
        (Decimal(10), "10 flats longer"),
        (None, "turned, not counted"),
    ],
)
def test_a_turn_says_how_far_and_which_way(flats, found):
    turn = TurnFactory.build(longer_flats=flats)

    rows, _items = told(PassesFactory.build(passes=2), turn, square("left", "1/8", "1/8", 2))

    assert rows["before pass 2: camber sleeve left"] == (found, "")


def test_a_turn_says_what_was_foretold_of_it():
    rows, _items = worked()

    foretold = "by formula -4.1 mm (-0.160 in); to give +4.5 mm (+0.179 in)"
    assert rows["before pass 3: tie rod right"] == ("4 flats longer", foretold)
    assert rows["before pass 2: camber sleeve left"][1] == "by formula +1.50°; to give +0.01°"


def test_what_held_stands_with_its_figures():
    rows, _items = worked()

    assert rows["tyre pressure set"] == ("20 psi", "137.895 kPa")
    assert "tyre pressure left" not in rows
    assert rows["floor"] == ("level", "")
    assert rows["use since the fitting"] == ("provisional: not settled yet", "7.5 h")
    assert rows["camber adjusts"] == ("by a sleeve", "")
    assert rows["driven"] == ("yes", "pass 4")
    assert rows["jam nuts tight again"] == rows["steering wheel centred"] == ("yes", "")
    assert rows["after a kerb hit"] == rows["asked for more readings"] == ("no", "")


def test_what_was_not_said_is_not_recorded():
    rows, _items = told(PassesFactory.build(floor_level=None, lugs_first=False), tape("36", 1))

    not_said = {item for item, (found, _detail) in rows.items() if found == "not recorded"}
    assert not_said == {
        "limits",
        "lugs first",
        "floor",
        "use since the fitting",
        "after a kerb hit",
        "camber adjusts",
        "jam nuts tight again",
        "steering wheel centred",
        "hands off",
        "asked for more readings",
    }
    assert rows["camber left"] == ("not measured", "")


def test_a_sloping_floor_says_which_side_lies_lower_and_how_far():
    slope = {"floor_low_side": "left", "floor_fall_typed": "1/4 in", "floor_over_typed": "36 in"}
    sheet = PassesFactory.build(
        floor_level=False, floor_fall_mm=mm("1/4"), floor_over_mm=mm("36"), **slope
    )

    rows, _items = told(sheet, tape("36", 1))

    assert rows["floor low"] == ("left", "1/4 in over 36 in")
    assert "floor" not in rows
    sheet.floor_plates = True
    rows, _items = told(sheet, tape("36", 1))
    assert rows["floor low"] == ("left", "1/4 in over 36 in; wheels on level plates")


def test_a_slope_under_cart_and_square_alike_is_told_as_such():
    alike = PassesFactory.build(floor_level=False, floor_plates=False)
    slope = {"floor_low_side": "left", "floor_fall_typed": "1/4 in", "floor_over_typed": "36 in"}
    known = PassesFactory.build(
        floor_level=False,
        floor_plates=False,
        floor_fall_mm=mm("1/4"),
        floor_over_mm=mm("36"),
        **slope,
    )

    said = [told(sheet, tape("36", 1))[0] for sheet in (alike, known)]

    assert [rows["floor"] for rows in said] == [
        ("slopes under cart and square alike", ""),
        ("slopes under cart and square alike", "low left; 1/4 in over 36 in"),
    ]
    assert "floor low" not in said[1]
