"""The sheet's form: what is read, what is refused, what it amounts to as a sheet and its lines."""

from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from alignment.models import CamberReading, ToeReading, Turn
from alignment.parts import CamberToePart
from alignment.sheet_values import sheet_so_far
from tests.alignment_factories import FOUND_INSIDE, SLEEVE_TURNED, a_visit, typed

pytestmark = pytest.mark.django_db
PHOTO = {"camber-toe-odd_photo": SimpleUploadedFile("tape.jpg", b"picture")}
ROD_TURNED = {
    "jam_nuts": "tight",
    "passes": "2",
    "p2_step": "rod",
    "p2_left_turn": "4",
    "p2_left_way": "longer",
    "p2_right_turn": "4",
    "p2_right_way": "longer",
    **{name.replace("p1", "p2"): FOUND_INSIDE[name] for name in FOUND_INSIDE if "_front_" in name},
    **{name.replace("p1", "p2"): FOUND_INSIDE[name] for name in FOUND_INSIDE if "_rear_" in name},
}


def the_form(visit=None, files=None, **fields):
    form = CamberToePart().form(visit or a_visit(), typed(**fields), files)
    form.is_valid()
    return form


def lines_of(form, kind):
    return [line for line in form.lines() if isinstance(line, kind)]


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


@pytest.mark.parametrize(
    ("left", "field"),
    [
        ({"p2_left_way": ""}, "p2_left_way"),
        ({"p2_left_turn": "1/3"}, "p2_left_turn"),
        ({"p2_left_turn": "0"}, "p2_left_turn"),
        (dict.fromkeys(("p2_left_turn", "p2_left_way"), ""), "p2_left_turn"),
    ],
)
def test_form_asks_what_was_turned_and_which_way(left, field):
    alone = dict.fromkeys(("p2_right_turn", "p2_right_way"), "")

    assert list(the_form(**ROD_TURNED | alone | left).errors) == [field]


ORDERS = {
    "toe before camber": (
        dict.fromkeys(("p1_left_top_1", "p1_left_bottom_1"), ""),
        "p1_left_top_1",
    ),
    "sleeve, camber not again": (
        SLEEVE_TURNED | dict.fromkeys(("p2_left_top_1", "p2_left_bottom_1"), ""),
        "p2_left_top_1",
    ),
    "sleeve, toe not again": (
        SLEEVE_TURNED | {f"p2_{end}_{k}": "" for end in ("front", "rear") for k in (1, 2, 3)},
        "p2_front_1",
    ),
    "sleeve where camber is not adjustable": (
        SLEEVE_TURNED | {"camber_adjusts": "not"},
        "p2_left_turn",
    ),
    "rod, toe not again": (
        ROD_TURNED | {f"p2_{end}_{k}": "" for end in ("front", "rear") for k in (1, 2, 3)},
        "p2_front_1",
    ),
    "rod with camber outside": (ROD_TURNED | {"p1_left_top_1": "3/8"}, "p2_left_turn"),
    "driven, neither again": ({"passes": "2", "p2_step": "drive"}, "p2_left_top_1"),
    "a pass of nothing": ({"passes": "2", "p2_step": ""}, "p2_left_top_1"),
}


@pytest.mark.parametrize("case", ORDERS)
def test_form_refuses_what_is_out_of_order_and_loses_nothing(case):
    fields, place = ORDERS[case]
    form = the_form(**fields)

    assert place in form.errors
    kept = {name: value for name, value in fields.items() if name.startswith("p")}
    assert {name: form[name].value() for name in kept} == kept


def test_form_lets_rods_be_turned_where_camber_cannot_be():
    outside = {"p1_left_top_1": "3/8", "camber_adjusts": "not", "enough": "on"}

    assert the_form(**ROD_TURNED | outside).errors == {}


def test_form_asks_about_the_jam_nuts_only_where_something_was_turned():
    unsaid = the_form(**ROD_TURNED | {"jam_nuts": ""})

    assert list(unsaid.errors) == ["jam_nuts"]
    said = [the_form(**ROD_TURNED | {"jam_nuts": text}) for text in ("tight", "not-yet")]
    assert [form.sheet_fields()["jam_nuts"] for form in said] == [True, False]
    assert the_form().errors == {}
    assert the_form().sheet_fields()["jam_nuts"] is None


def test_form_counts_a_drive_only_when_nothing_was_turned_after_it():
    again = {name.replace("p1", "p2"): FOUND_INSIDE[name] for name in FOUND_INSIDE if "p1" in name}
    drive = {**again, "passes": "2", "p2_step": "drive"}
    rod = {name.replace("p2", "p3"): text for name, text in ROD_TURNED.items()}
    after = the_form(**drive | rod | {"passes": "3"})

    assert after.errors == {}
    assert [the_form(**drive).sheet_fields()[name] for name in ("drive_pass", "driven")] == [
        2,
        True,
    ]
    assert [after.sheet_fields()[name] for name in ("drive_pass", "driven")] == [2, False]
    assert the_form(driven="on").sheet_fields()["driven"]


@pytest.mark.parametrize(
    ("fields", "is_odd"),
    [
        ({"p1_front_1": "35 9/16"}, False),  # exactly 1/2 in
        ({"p1_front_1": "35 17/32"}, True),
        ({"p1_front_1": "34 7/8"}, True),  # a whole inch crept in
        ({"p1_left_gauge_2": "3"}, False),
        ({"p1_left_gauge_2": "-3.1"}, True),
        ({"p1_left_top_1": "7/8"}, True),
    ],
)
def test_form_challenges_an_odd_figure_until_confirmed_with_a_photo(fields, is_odd):
    enough = {**fields, "enough": "on"}
    refused, ticked = the_form(**enough), the_form(**enough, confirmed="on")
    taken = the_form(files=PHOTO, **enough, confirmed="on")

    assert list(refused.errors) == (["confirmed", "odd_photo"] if is_odd else [])
    assert list(ticked.errors) == (["odd_photo"] if is_odd else [])
    assert taken.errors == {}
    assert taken.sheet_fields()["confirmed"] is is_odd
    assert [shows.value for shows, _file in taken.photos()] == (["tape"] if is_odd else [])
    assert all(refused[name].value() == value for name, value in fields.items())


def test_form_names_the_odd_reading_and_what_it_would_be_without_the_inch():
    form = the_form(p1_front_1="34 7/8", enough="on")

    [odd] = form.odd
    assert odd.question == (
        "Pass 1: front 34 7/8 in, rear 36 1/16 in is toe +1.188 in (1 3/16 in, +30.2 mm). "
        "Did a whole inch or a sign creep in? Without the inch it would be +3/16 in."
    )


@pytest.mark.parametrize(
    ("fields", "place"),
    [({"p1_front_1": "25 7/8"}, "p1_front_1"), ({"p1_left_top_1": "11"}, "p1_left_top_1")],
)
def test_form_refuses_what_cannot_be_even_when_confirmed(fields, place):
    assert list(the_form(files=PHOTO, **fields, confirmed="on").errors) == [place]


ONE_TOE = {f"p1_{end}_{k}": "" for end in ("front", "rear") for k in (2, 3)} | {"mark": "1/16 in"}


def test_form_asks_once_for_what_would_settle_it():
    form = the_form(**ONE_TOE)

    assert list(form.errors) == ["enough"]
    assert "Toe: " in form.errors["enough"][0]
    assert form["more_asked"].value() == "3"


def test_form_takes_cannot_tell_once_ticked_or_once_more_was_read():
    ticked = the_form(**ONE_TOE, enough="on")
    more = the_form(**ONE_TOE | {"p1_front_2": "35 7/8", "p1_rear_2": "36 1/16"}, more_asked="3")
    same = the_form(**ONE_TOE, more_asked="3")

    assert (ticked.errors, more.errors, list(same.errors)) == ({}, {}, ["enough"])
    assert [form.sheet_fields()["asked_for_more"] for form in (ticked, more, the_form())] == [
        True,
        True,
        False,
    ]


def test_form_wants_the_floor_whole():
    slope = {"floor": "plates", "floor_low_side": "left"}
    whole = {**slope, "floor_fall": "1/4", "floor_over": "36", "enough": "on"}

    assert list(the_form(**slope).errors) == ["floor_low_side"]
    assert the_form(**whole).sheet_fields()["floor_fall_mm"] == Decimal("6.35")
    assert the_form(**whole).sheet_fields()["floor_plates"] is True
    # said to be level, a slope that was typed before does not count
    assert the_form(**whole | {"floor": "level"}).sheet_fields()["floor_low_side"] == ""


def test_form_refuses_a_floor_as_steep_as_a_ramp():
    slope = {"floor": "plates", "floor_low_side": "left", "floor_over": "40", "enough": "on"}

    assert the_form(**slope, floor_fall="2").errors == {}
    assert list(the_form(**slope, floor_fall="2 1/16").errors) == ["floor_fall"]


def test_form_takes_a_floor_that_cart_and_square_stand_on_alike():
    alike = {"floor": "alike", "floor_low_side": "left", "enough": "on"}
    whole = {"floor_fall": "1/4", "floor_over": "36"}
    bare, known = the_form(floor="alike"), the_form(**alike | whole)

    assert (bare.errors, known.errors) == ({}, {})
    assert list(the_form(**alike).errors) == ["floor_low_side"]
    for form, low_side in ((bare, ""), (known, "left")):
        fields = form.sheet_fields()
        assert (fields["floor_level"], fields["floor_plates"]) == (False, False)
        assert (fields["floor_low_side"], sheet_so_far(form).floor) == (low_side, None)


@pytest.mark.parametrize(
    ("pressures", "is_even", "said"),
    [
        (("20", "20", "20"), True, []),
        (("20", "20", "21"), True, []),
        (("20", "19.5", "21"), False, ["Left and right tyre differ by more than 1 psi."]),
        (
            ("20", "22", "22"),
            False,
            [
                "The left tyre is more than 1 psi off what it is set to.",
                "The right tyre is more than 1 psi off what it is set to.",
            ],
        ),
        (("20", "20", ""), False, []),
    ],
)
def test_form_compares_the_tyre_pressures(pressures, is_even, said):
    names = ("pressure_set", "pressure_left", "pressure_right")
    form = the_form(**dict(zip(names, pressures, strict=True)))

    assert form.errors == {}
    assert form.sheet_fields()["pressures_equal"] is is_even
    assert form.uneven() == said


def test_form_with_nothing_read_stands_only_where_it_was_not_wanted():
    nothing = {"camber-toe-mark": "1/16 in"}

    wanted = CamberToePart().form(a_visit(), nothing)
    beside = CamberToePart().form(a_visit(pieces=["grease"]), nothing)

    assert wanted.non_field_errors() == ["Nothing was read: give camber left and right, then toe."]
    assert beside.errors == {}
    assert beside.is_left_out


def test_form_that_was_put_off_asks_nothing():
    form = the_form(not_done="on", p1_front_1="35 7//8", p1_rear_2=None)

    assert form.is_valid()
    assert form.is_left_out


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
