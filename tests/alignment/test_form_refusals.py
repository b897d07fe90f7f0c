"""The sheet's form: what it asks for and challenges, what is out of order, what is refused."""

from decimal import Decimal

import pytest

from alignment.parts import CamberToePart
from alignment.sheet_values import sheet_so_far
from tests.alignment_factories import FOUND_INSIDE, SLEEVE_TURNED, a_visit
from tests.camber_toe_forms import PHOTO, ROD_TURNED, the_form

pytestmark = pytest.mark.django_db


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
