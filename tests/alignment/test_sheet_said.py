"""What a recorded sheet says in words: pass by pass, before measuring, as left."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest

from alignment.before_said import before, ended, limits, same_toe_today, tools
from alignment.passes_said import passes_of
from alignment.pictures import ENLARGED, Drawable, pictures_of
from alignment.site_words import Wording
from alignment.specs import figures_of
from alignment.told_sheets import told_sheets
from tests.alignment_factories import NOON, GaugeFactory, ToeFactory, TurnFactory, mm
from tests.alignment_sheets import a_round, a_sheet, read
from tests.factories import CartFactory, PersonFactory

pytestmark = pytest.mark.django_db
INCHES = Wording("inch", float(mm("1/32")))
SQUARE = {
    "gauge_deg": None,
    "gauge_typed": "",
    "between_mm": mm("12"),
    "between_typed": "12 in",
    "gap_top_mm": mm("3/8"),
    "gap_top_typed": "3/8 in",
    "gap_bottom_mm": mm("1/16"),
    "gap_bottom_typed": "1/16 in",
}


@pytest.fixture
def row():
    return a_round(CartFactory(number="041", is_lifted=True), PersonFactory(name="Ada Moss"))


def told(row, *lines, **values):
    return told_sheets([a_sheet(row, *lines, **values)])[0]


def test_passes_tell_each_reading_as_read_with_what_it_is(row):
    square = GaugeFactory(**SQUARE, pass_no=1)
    half = GaugeFactory(side="left", gauge_deg=Decimal("-1.2"), gauge_typed="-1.2", half_turn=True)
    sheet = told(row, square, half, ToeFactory(front="35 7/8", rear="36 1/16"))

    (found,) = passes_of(sheet, INCHES)

    assert (found.title, found.turns) == ("Pass 1: as found", [])
    assert [(one.name, one.readings, one.void) for one in found.rows] == [
        (
            "Camber left",
            [
                ("top 3/8 in, bottom 1/16 in, 12 in apart", "−1.49°"),
                ("gauge -1.2; after half a turn", "−1.20°"),
            ],
            "",
        ),
        ("Toe", [("front 35 7/8 in, rear 36 1/16 in", "+0.188 in (3/16 in, +4.8 mm), +0.49°")], ""),
    ]


def test_passes_tell_a_reading_on_a_sloping_floor_twice(row):
    floor = {"floor_fall_mm": mm("1/4"), "floor_over_mm": mm("36"), "floor_low_side": "left"}
    sheet = told(row, GaugeFactory(**SQUARE, pass_no=1), **floor)

    (found,) = passes_of(sheet, INCHES)

    assert found.rows[0].readings[0][1] == "−1.49°; −1.09° freed of the floor’s slope"
    plates, alike = (
        told(row, GaugeFactory(**SQUARE, pass_no=1), floor_plates=on, **floor)
        for on in (True, False)
    )
    assert (plates.sheet.floor, alike.sheet.floor) == (sheet.sheet.floor, None)
    (on_one_plane,) = passes_of(alike, INCHES)
    assert on_one_plane.rows[0].readings[0][1] == "−1.49°"


def turned(row, *, drive_pass=None, **more):
    """A sheet with the left sleeve turned before pass 2, the rods before pass 3."""
    sleeve = TurnFactory(
        longer_flats=Decimal(7), formula_deg=Decimal("1.42"), predicted_deg=Decimal("-0.07"), **more
    )
    about = {"formula_mm": Decimal("-4.05"), "predicted_mm": Decimal("4.6"), "pass_no": 3}
    rods = [
        TurnFactory(what="rod", at=side, longer_flats=Decimal("-2.5"), **about)
        for side in ("left", "right")
    ]
    lines = [
        *read(left=Decimal("-1.5"), right=0, toe="1/2", times=1),
        sleeve,
        *read(left=Decimal("-0.1"), toe="1/2", pass_no=2, times=1),
        *rods,
        *read(toe="3/16", pass_no=3, times=1),
    ]
    if drive_pass:
        lines += read(left=0, right=0, toe="3/16", pass_no=4, times=1)
    return told(row, *lines, passes=4 if drive_pass else 3, drive_pass=drive_pass)


def test_passes_tell_turns_with_what_was_foretold_beside_what_was_read(row):
    _found, sleeve, rods = passes_of(turned(row), INCHES)

    assert sleeve.title == "Pass 2: camber sleeve turned"
    assert sleeve.turns == [
        "Camber sleeve left: 1 turn and 1 flat longer (7 flats); by the formula +1.42°; "
        "predicted −0.07°; then read −0.10° ±0.21°"
    ]
    assert rods.title == "Pass 3: tie rods turned"
    assert rods.turns == [
        "Tie rod left: 2 1/2 flats shorter",
        "Tie rod right: 2 1/2 flats shorter",
        "By the formula −0.319 in (−8.1 mm); predicted +0.181 in (about 3/16 in, +4.6 mm); "
        "then read +0.188 in (3/16 in, +4.8 mm) ±0.047 in (1.2 mm)",
    ]


def test_passes_say_in_words_what_voided_a_reading(row):
    said = [[(one.name, one.void) for one in each.rows] for each in passes_of(turned(row), INCHES)]

    camber, rod = "void: camber turned after it", "void: tie rod turned after it"
    assert said == [
        [("Camber left", camber), ("Camber right", ""), ("Toe", camber)],
        [("Camber left", ""), ("Toe", rod)],
        [("Toe", "")],
    ]


def test_passes_say_what_a_drive_voided(row):
    found, _sleeve, rods, drive = passes_of(turned(row, drive_pass=4), INCHES)

    # the other side's sleeve does not move this wheel's camber
    assert (found.rows[1].name, found.rows[1].void) == ("Camber right", "void: driven after it")
    assert [(one.name, one.void) for one in rods.rows] == [("Toe", "void: driven after it")]
    assert drive.title == "Pass 4: driven, both read again"
    assert {one.void for one in drive.rows} == {""}


def test_passes_of_an_entry_without_flats_say_so(row):
    lines = [*read(left=0, right=0, toe="3/16"), *read(left=0, toe="3/16", pass_no=2)]
    for line in lines:
        line.pass_no = None
    sheet = told(row, *lines, passes=None, camber_turned_left=True, tie_rod_turned=True)

    second = passes_of(sheet, INCHES)[1]

    assert second.title == "Pass 2: camber sleeve and tie rods turned"
    assert second.turns == [
        "Camber sleeve left: flats not recorded",
        "Tie rods: side and flats not recorded",
    ]


READY = dict.fromkeys(
    ("tyres_alike", "rolled_forward", "steering_centred", "usual_load", "no_play"), True
)


def test_before_tells_conditions_with_their_figures(row):
    sheet = told(
        row,
        **READY,
        pressures_equal=True,
        pressure_set_typed="20 psi",
        pressure_left_typed="20 psi",
        pressure_right_typed="19 1/2",
        pressure_right_kpa=Decimal("134.448"),
        floor_level=True,
        use_hours=Decimal("14.2"),
        use_km=Decimal("160.9"),
        is_settled=True,
        after_kerb_hit=True,
        camber_adjusts="sleeve",
    )

    said = dict(before(sheet.fact))

    assert said["Not recorded"] == "lugs checked first"
    assert said["Tyre pressures, cold"] == "set to 20 psi, left 20 psi, right 19 1/2 psi"
    assert said["Floor"] == "measured: level"
    assert said["Use since the fitting"] == "14.2 h, 100.0 mi: settled"
    assert said["Before it"] == "a kerb or a pothole was hit"
    assert said["Camber is adjusted"] == "by a threaded sleeve on the upper arm"


def test_before_says_what_is_not_recorded(row):
    said = dict(before(told(row).fact))

    assert said["Seen to"] == "not recorded"
    assert said["Tyre pressures, cold"] == "not recorded"
    assert (said["Floor"], said["Use since the fitting"]) == ("not recorded", "not recorded")
    assert "Before it" not in said


@pytest.mark.parametrize(
    ("values", "name", "words"),
    [
        ({"pressures_equal": True}, "Tyre pressures, cold", "equal, no figures recorded"),
        (
            {
                "floor_fall_mm": mm("1/4"),
                "floor_fall_typed": "1/4 in",
                "floor_over_mm": mm("36"),
                "floor_over_typed": "36",
                "floor_low_side": "left",
            },
            "Floor",
            "falls 1/4 in over 36 in to the left; taken out of the camber",
        ),
        (
            {"use_hours": Decimal(3), "is_settled": False},
            "Use since the fitting",
            "3.0 h: not settled, provisional",
        ),
    ],
)
def test_before_says_each_condition_in_words(row, values, name, words):
    assert dict(before(told(row, **values).fact))[name] == words


def test_tools_tell_the_mark_of_a_gauge_where_one_was_read(row):
    by_gauge, by_square = told(row), told(row, GaugeFactory(**SQUARE, pass_no=1))

    assert dict(tools(by_gauge.fact, by_gauge.lines)) == {
        "Smallest mark of tape and square": "1/32 in",
        "Smallest mark of the gauge": "0.1°",
        "Toe taken at": "22 in",
    }
    assert "Smallest mark of the gauge" not in dict(tools(by_square.fact, by_square.lines))


def test_limits_say_where_they_come_from(row):
    sheet = told(row, limits_from="HX-4 sheet, edition B")

    assert dict(limits(sheet.sheet.limits, sheet.fact, INCHES)) == {
        "Camber": "−0.50° to +0.50°",
        "Camber, left less right": "up to 0.50° either way",
        "Toe": "+0.125 in (1/8 in, +3.2 mm) to +0.250 in (1/4 in, +6.4 mm)",
        "Limits from": "HX-4 sheet, edition B",
    }


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"driven": True}, "yes"),
        ({}, "not recorded"),
        ({"driven": True, "drive_pass": 2}, "before pass 2, both read again"),
        ({"drive_pass": 2}, "before pass 2, both read again; turned again after it"),
    ],
)
def test_ended_says_of_the_drive(row, values, words):
    sheet = told(row, **values)

    assert dict(ended(sheet.fact, sheet.sheet))["Driven"] == words


def test_ended_says_what_was_asked_and_confirmed(row):
    sheet = told(row, asked_for_more=True, confirmed=True, jam_nuts=True, wheel_centred=False)

    said = dict(ended(sheet.fact, sheet.sheet))
    assert said["More readings"] == "were asked for once"
    assert said["Odd reading"] == "confirmed by who read it, with a photo"
    assert (said["Jam nuts"], said["Steering wheel"]) == ("tight", "not recorded")


def test_same_toe_is_a_smaller_angle_on_bigger_tyres_of_today(row):
    sheet, cart = told(row), row.cart
    cart.tyre_mm = mm("25")

    said = same_toe_today(sheet.sheet, sheet.last.results["toe"], cart, INCHES)

    assert said == ("The same length on the cart’s tyres of today, 25 in (635 mm): +0.43° in all.")


@pytest.mark.parametrize("tyre", [None, "22"])
def test_same_toe_says_nothing_of_the_same_tyres(row, tyre):
    sheet, cart = told(row), row.cart
    cart.tyre_mm = tyre and mm(tyre)

    assert same_toe_today(sheet.sheet, sheet.last.results["toe"], cart, INCHES) == ""


def test_pictures_are_plain_and_enlarged_from_the_front_and_above(row):
    sheet = told(row, *read(left=Decimal("-0.4"), right=0, toe="3/16", times=1))
    drawn = Drawable(sheet.sheet, sheet.last, sheet.lines, figures_of({}, "").steering, "", INCHES)

    svgs = pictures_of(drawn)

    larger = f"Angles drawn {ENLARGED} times as large"
    read_out = [" ".join(re.sub("<[^>]+>", " ", svg).split()) for svg in svgs]
    assert [larger in words for words in read_out] == [False, True, False, True]
    assert ["seen from above" in svg for svg in svgs] == [False, False, True, True]
    assert all("−0.40°" in svg for svg in svgs[:2])
    assert all("36 3/16" in svg or "3/16 in" in svg for svg in svgs[2:])


def test_a_sheet_told_again_is_by_who_told_it_first(row):
    first = a_sheet(row)
    again = a_sheet(
        row,
        by=PersonFactory(),
        corrects=first.pk,
        why_corrected="Typo",
        known_at=NOON + timedelta(days=1),
    )

    assert told_sheets([again])[0].done_by.name == "Ada Moss"
