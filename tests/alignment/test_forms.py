"""The sheet's form: what is read, in which unit, and what it amounts to as a sheet and lines."""

from decimal import Decimal

import pytest

from alignment.models import CamberReading, ToeReading, Turn
from alignment.parts import CamberToePart
from tests.alignment_factories import SLEEVE_TURNED, a_visit
from tests.camber_toe_forms import ROD_TURNED, lines_of, the_form

pytestmark = pytest.mark.django_db


def test_form_takes_a_sheet_that_was_only_measured():
    form = the_form()

    assert form.errors == {}
    assert [type(line) for line in form.lines()] == [CamberReading] * 2 + [ToeReading] * 3
    assert [line.place for line in form.lines()] == [0, 1, 2, 3, 4]
    assert {(line.pass_no, line.stage) for line in form.lines()} == {(1, "found")}
    assert form.sheet_fields()["passes"] == 1


def test_form_keeps_what_was_typed_beside_the_figure():
    form = the_form(p1_left_top_1="5/16", p1_left_bottom_1="3 mm", between="11 in")

    assert form.errors == {}
    reading = form.lines()[0]
    assert (reading.gap_top_typed, reading.gap_top_mm) == ("5/16 in", Decimal("7.9375"))
    assert (reading.gap_bottom_typed, reading.gap_bottom_mm) == ("3 mm", Decimal(3))
    assert (reading.between_typed, reading.between_mm) == ("11 in", Decimal("279.4"))


IN_MM = {
    "between": "300",
    "diameter": "560",
    **{f"p1_{side}_{gap}_1": "25" for side in ("left", "right") for gap in ("top", "bottom")},
    **{f"p1_front_{k}": "905" for k in (1, 2, 3)},
    **{f"p1_rear_{k}": "910" for k in (1, 2, 3)},
}


def test_form_reads_a_tape_in_millimetres_at_a_site_in_inches():
    form = the_form(
        **IN_MM,
        mark="1 mm",
        floor="plates",
        floor_low_side="left",
        floor_fall="6",
        floor_over="900",
        enough="on",
    )

    assert form.errors == {}
    reading, toe = form.lines()[0], lines_of(form, ToeReading)[0]
    assert (toe.front_mm, toe.front_typed, toe.rear_mm - toe.front_mm) == (905, "905 mm", 5)
    assert (reading.gap_top_mm, reading.gap_top_typed, reading.between_mm) == (25, "25 mm", 300)
    assert (form.sheet_fields()["diameter_mm"], form.sheet_fields()["floor_fall_mm"]) == (560, 6)
    assert form["p1_front_1"].value() == "905"


def test_form_reads_a_tape_in_inches_at_a_metric_site():
    form = the_form(a_visit(units="metric"))

    toe = lines_of(form, ToeReading)[0]
    assert form.errors == {}
    assert (toe.front_mm, toe.front_typed) == (Decimal("911.225"), "35 7/8 in")


def test_form_takes_a_unit_that_was_typed_whatever_the_tape():
    form = the_form(p1_front_1="911.2 mm", p1_rear_1="91.6 cm", enough="on")

    toe = lines_of(form, ToeReading)[0]
    assert (toe.front_mm, toe.front_typed) == (Decimal("911.2"), "911.2 mm")
    assert (toe.rear_mm, toe.rear_typed) == (916, "91.6 cm")


def test_form_takes_millimetres_at_a_metric_site():
    metric = {"mark": "1 mm", "p1_front_1": "911", "p1_rear_1": "36 1/16 in"}
    form = the_form(a_visit(units="metric"), **metric)

    assert form.errors["p1_front_2"] == ["“35 7/8” cannot be right here; read it again."]
    assert form.cleaned_data["p1_front_1"].si == 911
    assert form.cleaned_data["p1_rear_1"].si == Decimal("915.9875")


@pytest.mark.parametrize(
    ("units", "tyre_mm", "said"),
    [("inch", "558.8", "22 in"), ("inch", "463.55", "18.25 in"), ("metric", "560", "560 mm")],
)
def test_form_begins_with_the_tyre_of_the_cart(units, tyre_mm, said):
    form = CamberToePart().form(a_visit(units=units, tyre_mm=Decimal(tyre_mm)))

    assert form["diameter"].value() == said


def test_form_begins_with_the_usual_mark():
    form = CamberToePart().form(a_visit())

    assert form["mark"].value() == "1/16 in"
    assert [form["passes"].value(), form["p1_step"].value()] == [1, "found"]


def test_form_reads_a_gauge_in_degrees_and_minutes():
    form = the_form(p1_left_top_1="", p1_left_bottom_1="", p1_left_gauge_1="-0°36'")

    assert form.errors == {}
    assert [line.gauge_deg for line in form.lines()[:2]] == [Decimal("-0.6"), None]


def test_form_reads_each_wheel_three_times_and_marks_a_half_turn():
    again = {"p1_left_top_2": "1/4", "p1_left_bottom_2": "1/8", "p1_left_half_2": "on"}
    form = the_form(**again, p1_left_gauge_3="-0.1", enough="on")

    assert form.errors == {}
    read = [line for line in form.lines() if getattr(line, "side", "") == "left"]
    assert [line.half_turn for line in read] == [False, True, False]
    assert [line.gauge_typed for line in read] == ["", "", "-0.1 deg"]


def test_form_reads_toe_up_to_five_times():
    fourth = {"p1_front_4": "35 7/8", "p1_rear_4": "36", "p1_front_5": "35 7/8", "p1_rear_5": "36"}

    assert len(lines_of(the_form(**fourth), ToeReading)) == 5


def test_form_refuses_half_a_reading():
    form = the_form(p1_left_bottom_1=None, p1_rear_2=None)

    assert form.errors == {
        "p1_left_bottom_1": ["This one was left out."],
        "p1_rear_2": ["This one was left out."],
    }


def test_form_refuses_gaps_and_gauge_for_one_reading():
    assert list(the_form(p1_left_gauge_1="0.1").errors) == ["p1_left_gauge_1"]


def test_form_refuses_gaps_without_height_and_toe_without_diameter():
    form = the_form(between="", diameter="")

    assert set(form.errors) == {"between", "diameter"}


def test_form_names_what_it_cannot_read_and_keeps_it():
    form = the_form(p1_front_1="35 7//8")

    assert list(form.errors) == ["p1_front_1"]
    assert "35 7//8" in form.errors["p1_front_1"][0]
    assert form["p1_front_1"].value() == "35 7//8"


def test_form_takes_camber_turned_then_toe_and_voids_the_earlier_toe():
    form = the_form(**SLEEVE_TURNED)

    assert form.errors == {}
    toes = lines_of(form, ToeReading)
    assert [(line.pass_no, line.before_last_camber_turn) for line in toes] == [
        *[(1, True)] * 3,
        *[(2, False)] * 3,
    ]
    [turn] = lines_of(form, Turn)
    assert (turn.what, turn.at, turn.longer_flats, turn.pass_no) == ("sleeve", "left", 2, 2)
    said = form.sheet_fields()
    names = ("camber_turned_left", "camber_turned_right", "tie_rod_turned", "jam_nuts")
    assert [said[name] for name in names] == [True, False, False, True]


@pytest.mark.parametrize(
    ("typed_flats", "way", "flats"),
    [("4", "longer", 4), ("2 1/2", "shorter", Decimal("-2.5")), ("", "shorter", None)],
)
def test_form_keeps_flats_with_their_sign_and_those_not_counted(typed_flats, way, flats):
    form = the_form(**ROD_TURNED | {"p2_left_turn": typed_flats, "p2_left_way": way})

    assert form.errors == {}
    assert [turn.longer_flats for turn in lines_of(form, Turn)] == [flats, 4]
    assert form.sheet_fields()["tie_rod_turned"]


def test_form_keeps_conditions_marks_and_limits_in_the_sheet():
    form = the_form(ready=["no_play", "lugs_first"], driven="on", pull="left", note="gusty")

    assert form.errors == {}
    fields = form.sheet_fields()
    ready = [name for name in ("tyres_alike", "no_play", "lugs_first") if fields[name]]
    assert ready == ["no_play", "lugs_first"]
    assert (fields["pressure_set_typed"], fields["pressure_set_kpa"]) == (
        "20 psi",
        Decimal("137.895"),
    )
    assert (fields["floor_level"], fields["floor_low_side"]) == (True, "")
    assert (fields["mark_mm"], fields["mark_typed"]) == (Decimal("0.79375"), "1/32 in")
    assert (fields["diameter_mm"], fields["diameter_typed"]) == (Decimal("558.8"), "22 in")
    assert (fields["driven"], fields["pull"], fields["note"]) == (True, "left", "gusty")
    assert (fields["toe_low_mm"], fields["toe_high_mm"]) == (Decimal("3.175"), Decimal("6.35"))
    assert fields["limits_from"] == "common practice, no source"


@pytest.mark.parametrize("units", ["inch", "metric"])
@pytest.mark.parametrize(
    ("mark", "printed"),
    [
        (None, "in the tape’s unit"),
        ("1/16 in", "in"),
        ("1 mm", "mm"),
        ("1 yard", "in the tape’s unit"),
    ],
)
def test_form_says_which_unit_is_meant(units, mark, printed):
    sent = mark and {"camber-toe-mark": mark}
    form = CamberToePart().form(a_visit(units=units), sent)

    assert form["p1_left_top_1"].label == f"Pass 1: left wheel, gap at top ({printed})"
    assert form["between"].label == f"Height between the gap points ({printed})"
    assert form["floor_fall"].label == f"Floor falls by ({printed})"
    assert form["p1_rear_2"].label == f"Pass 1: toe, rear of the tyres 2 ({printed})"
    assert form["p1_right_gauge_1"].label == "Pass 1: right wheel, gauge (°)"
