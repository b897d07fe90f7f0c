from decimal import Decimal

import pytest

from alignment.parts import CamberToePart
from tests.alignment_factories import a_visit, typed


def the_form(visit=None, **fields):
    return CamberToePart().form(visit or a_visit(), typed(**fields))


def test_form_takes_a_sheet_that_was_only_measured():
    form = the_form()

    assert form.errors == {}
    assert [type(line).__name__ for line in form.lines()] == ["CamberReading"] * 2 + [
        "ToeReading"
    ] * 3
    assert [line.place for line in form.lines()] == [0, 1, 2, 3, 4]


def test_form_keeps_what_was_typed_beside_the_figure():
    form = the_form(found_left_top_1="5/16", found_left_bottom_1="3 mm", between="11 in")

    assert form.errors == {}
    reading = form.lines()[0]
    assert (reading.gap_top_typed, reading.gap_top_mm) == ("5/16 in", Decimal("7.9375"))
    assert (reading.gap_bottom_typed, reading.gap_bottom_mm) == ("3 mm", Decimal(3))
    assert (reading.between_typed, reading.between_mm) == ("11 in", Decimal("279.4"))


def test_form_takes_millimetres_at_a_metric_site():
    form = the_form(a_visit(units="metric"), found_front_1="911", found_rear_1="36 1/16 in")

    assert form.errors["found_front_2"] == ["“35 7/8” cannot be right here; read it again."]
    assert form.cleaned_data["found_front_1"].si == 911
    assert form.cleaned_data["found_rear_1"].si == Decimal("915.9875")


def test_form_begins_with_the_tyre_of_the_cart_and_the_usual_mark():
    form = CamberToePart().form(a_visit(tyre_mm=Decimal("558.8")))

    assert form["diameter"].value() == "22.000 in"
    assert form["mark"].value() == "1/16 in"


def test_form_reads_a_gauge_in_degrees_and_minutes():
    form = the_form(found_left_gauge="-0°36'")

    assert form.errors == {}
    assert [line.gauge_deg for line in form.lines()[:2]] == [None, Decimal("-0.6")]


def test_form_refuses_half_a_reading():
    form = the_form(found_left_bottom_1=None, found_rear_2=None)

    assert form.errors == {
        "found_left_bottom_1": ["This one was left out."],
        "found_rear_2": ["This one was left out."],
    }


def test_form_refuses_gaps_without_height_and_toe_without_diameter():
    form = the_form(between="", diameter="")

    assert set(form.errors) == {"between", "diameter"}


def test_form_names_what_it_cannot_read_and_keeps_it():
    form = the_form(found_front_1="35 7//8")

    assert list(form.errors) == ["found_front_1"]
    assert "35 7//8" in form.errors["found_front_1"][0]
    assert form["found_front_1"].value() == "35 7//8"


def test_form_refuses_a_toe_read_before_the_camber_turn():
    form = the_form(camber_turned=["left"], left_left_top_1="1/8", left_left_bottom_1="1/8")

    assert set(form.errors) == {"left_front_1", "toe_after_turn"}


AGAIN = {
    "camber_turned": ["left"],
    "left_left_top_1": "1/8",
    "left_left_bottom_1": "1/8",
    "left_front_1": "35 7/8",
    "left_rear_1": "36 1/16",
    "toe_after_turn": "on",
}


def test_form_takes_camber_turned_then_toe_and_voids_the_earlier_toe():
    form = the_form(**AGAIN)

    assert form.errors == {}
    toes = [line for line in form.lines() if hasattr(line, "before_last_camber_turn")]
    assert [(line.stage, line.before_last_camber_turn) for line in toes] == [
        ("found", True),
        ("found", True),
        ("found", True),
        ("left", False),
    ]


def test_form_asks_for_camber_again_on_the_side_that_was_turned():
    form = the_form(**AGAIN | {"camber_turned": ["left", "right"]})

    assert list(form.errors) == ["left_right_top_1"]


def test_form_asks_for_the_tick_that_toe_came_last():
    form = the_form(**AGAIN | {"toe_after_turn": None})

    assert list(form.errors) == ["toe_after_turn"]


def test_form_asks_for_toe_again_after_the_tie_rod():
    assert list(the_form(tie_rod_turned="on").errors) == ["left_front_1"]


@pytest.mark.parametrize(
    ("fields", "is_odd"),
    [
        ({"found_front_1": "35 9/16"}, False),  # exactly 1/2 in
        ({"found_front_1": "35 17/32"}, True),
        ({"found_front_1": "34 7/8"}, True),  # a whole inch crept in
        ({"found_left_gauge": "3"}, False),
        ({"found_left_gauge": "-3.1"}, True),
        ({"found_left_top_1": "7/8"}, True),
    ],
)
def test_form_challenges_an_odd_figure_and_loses_nothing(fields, is_odd):
    refused = the_form(**fields)
    taken = the_form(**fields, confirmed="on")

    assert (list(refused.errors) == ["confirmed"]) is is_odd
    assert refused.needs_confirmation is is_odd
    assert taken.errors == {}
    assert taken.sheet_fields()["confirmed"] is is_odd
    assert all(refused[name].value() == value for name, value in fields.items())


def test_form_refuses_a_toe_that_cannot_be_even_when_confirmed():
    form = the_form(found_front_1="25 7/8", confirmed="on")

    assert form.non_field_errors() == [
        "Front and rear cannot differ by that much; read both again."
    ]


def test_form_wants_the_floor_whole():
    assert list(the_form(floor_low_side="left").errors) == ["floor_low_side"]
    assert the_form(floor_low_side="left", floor_fall="1/4", floor_over="36").errors == {}


def test_form_with_nothing_read_stands_only_where_it_was_not_wanted():
    nothing = {"camber-toe-mark": "1/16 in"}

    wanted = CamberToePart().form(a_visit(), nothing)
    beside = CamberToePart().form(a_visit(pieces=["grease"]), nothing)

    assert wanted.non_field_errors() == ["Nothing was read: give camber left and right, then toe."]
    assert beside.errors == {}
    assert beside.is_left_out


def test_form_that_was_put_off_asks_nothing():
    form = the_form(not_done="on", found_front_1="35 7//8", found_rear_2=None)

    assert form.is_valid()
    assert form.is_left_out


def test_form_keeps_conditions_and_marks_in_the_sheet():
    form = the_form(ready=["no_play", "lugs_first"], driven="on", pull="left", note="gusty")

    assert form.errors == {}
    fields = form.sheet_fields()
    ready = [name for name in ("pressures_equal", "no_play", "lugs_first") if fields[name]]
    assert ready == ["no_play", "lugs_first"]
    assert (fields["mark_mm"], fields["mark_typed"]) == (Decimal("0.79375"), "1/32 in")
    assert (fields["diameter_mm"], fields["diameter_typed"]) == (Decimal("558.8"), "22 in")
    assert (fields["driven"], fields["pull"], fields["note"]) == (True, "left", "gusty")
    assert (fields["toe_low_mm"], fields["toe_high_mm"]) == (Decimal("3.175"), Decimal("6.35"))


@pytest.mark.parametrize("fields", [{"left_front_1": "35 7/8"}, {"tie_rod_turned": "on"}])
def test_form_opens_what_was_typed_or_is_asked_for(fields):
    quiet, used = the_form(), the_form(**fields)
    for form in (quiet, used):
        form.is_valid()

    assert (quiet.is_left_open(), used.is_left_open()) == (False, True)
    assert not quiet.is_floor_open()


def test_form_opens_the_other_readings_of_a_wheel_once_used():
    form = the_form(found_right_gauge="0.2")

    assert [wheel.is_open for wheel in form.found_wheels()] == [False, True]
    assert form.found_tape().is_open


@pytest.mark.parametrize(("units", "printed"), [("inch", "in"), ("metric", "mm")])
def test_form_says_which_unit_is_meant(units, printed):
    form = CamberToePart().form(a_visit(units=units))

    assert form["found_left_top_1"].label == f"Left wheel, gap at top ({printed})"
    assert form["found_rear_2"].label == f"Toe, rear of the tyres 2 ({printed})"
    assert form["left_right_gauge"].label == "Right wheel, gauge (°)"
