"""What the sheet's form answers while it is filled: what to do now, which way, how far."""

from datetime import timedelta
from decimal import Decimal

import pytest

from alignment.flats_said import flats_said
from alignment.learning import Learnt, Seen
from alignment.models import Turn
from alignment.parts import CamberToePart
from tests.alignment_factories import FOUND_INSIDE, NOON, SLEEVE_TURNED, a_visit, typed
from tests.camber_toe_forms import ROD_TURNED, the_form
from tests.factories import PersonFactory
from tests.spec_factories import ROD, SLEEVE, a_spec

pytestmark = pytest.mark.django_db
LEANS_IN = {"p1_left_top_1": "3/8", "p1_left_bottom_1": "1/16", "enough": "on"}


def answer_to(what, **fields):
    form = CamberToePart().answer(a_visit(), typed(**fields), None, what)
    form.is_valid()
    return form


def test_form_asks_beside_its_answer_how_camber_is_adjusted():
    asked = answer_to("look", **LEANS_IN)

    assert asked.answer.step.kind == "say-adjusts"
    assert [ask for ask, _said in asked.answer.adjusts()] == ["adjusts-sleeve", "adjusts-not"]


@pytest.mark.parametrize(("ask", "kind"), [("sleeve", "turn-sleeve"), ("not", "look-for-part")])
def test_form_takes_how_camber_is_adjusted_with_one_press(ask, kind):
    said = answer_to(f"adjusts-{ask}", **LEANS_IN)

    assert said["camber_adjusts"].value() == ask
    assert (said.answer.step.kind, said.answer.adjusts()) == (kind, [])


def test_form_asks_the_step_of_the_gauge_once_a_gauge_is_read():
    by_gauge = {"p1_left_top_1": "", "p1_left_bottom_1": "", "p1_left_gauge_1": "-0.2"}

    assert the_form().is_by_gauge is False
    assert the_form(**by_gauge, gauge_mark="0.5").is_by_gauge is True
    assert the_form(**by_gauge, gauge_mark="0.5").sheet_fields()["gauge_mark_deg"] == Decimal("0.5")


TOE_HALF_AN_INCH = {f"p1_rear_{k}": "36 3/8" for k in (1, 2, 3)} | {"camber_adjusts": "sleeve"}


@pytest.fixture
def told_visit():
    visit = a_visit()
    a_spec(visit.site, PersonFactory(), NOON - timedelta(days=1), kit_code="", **ROD, **SLEEVE)
    return visit


def answered_at(visit, what, **fields):
    form = CamberToePart().answer(visit, typed(**fields), None, what)
    form.is_valid()
    return form


def test_form_tells_both_sides_alike_and_that_the_steering_wheel_stays(told_visit):
    step = answered_at(told_visit, "look", **TOE_HALF_AN_INCH).answer.step

    assert step.lines == ["Turn both sides alike: the steering wheel stays straight."]
    (both,) = step.corrections
    assert both.title == "Both sides alike: 4 flats longer each"
    assert both.lines[:5] == [
        "Turn it clockwise, seen from the wheel: longer, more thread shows.",
        "That is with the right-hand thread at the wheel end; else turn it the other way.",
        "Steering arms ahead of the axle: longer is less toe-in.",
        # four flats of a 1.25 mm pitch
        "By a rule the rod gets 1/32 in (0.8 mm) longer.",
        "Then it should read +0.179 in (about 3/16 in, +4.6 mm).",
    ]


def test_form_centres_a_steering_wheel_with_the_toe_and_fills_in_both_sides(told_visit):
    off = {**TOE_HALF_AN_INCH, "wheel_stands": "left", "wheel_off": "0.5"}
    told = answered_at(told_visit, "look", **off).answer.step
    turned = answered_at(told_visit, "rod", **off)

    assert told.lines == [
        "To centre the steering wheel: left 5 flats longer, right 5 flats shorter "
        "(9.6 flats a degree). That leaves toe as it is."
    ]
    assert [one.title for one in told.corrections] == [
        "Left: 1 turn and 3 flats longer (9 flats)",
        "Right: 1 flat shorter",
    ]
    assert "Of that, for toe: both sides alike: 4 flats longer each." in told.corrections[1].lines
    names = ("p2_left_turn", "p2_left_way", "p2_right_turn", "p2_right_way")
    assert [turned[name].value() for name in names] == ["9", "longer", "1", "shorter"]


def test_form_foretells_the_toe_of_unlike_flats(told_visit):
    unlike = {"p2_left_turn": "9", "p2_right_turn": "1", "p2_right_way": "shorter"}
    form = CamberToePart().form(told_visit, typed(**ROD_TURNED | TOE_HALF_AN_INCH | unlike))

    assert form.is_valid()
    foretold = [line for line in form.foretold_lines() if isinstance(line, Turn)]
    assert [line.longer_flats for line in foretold] == [9, -1]
    # each rod its own share: one flat of one rod is 558.8 * 1.25 / 6 / 114.3 mm
    shares = [round(float(line.formula_mm), 3) for line in foretold]
    assert shares == [round(-9 * 1.01852, 3), round(1.01852, 3)]
    # 1/2 in less four flats a side of 0.080 in
    assert {round(line.predicted_mm / Decimal("25.4"), 3) for line in foretold} == {
        Decimal("0.179")
    }


def test_form_says_which_way_where_how_far_the_wheel_stands_off_is_not_known(told_visit):
    off = {**TOE_HALF_AN_INCH, "wheel_stands": "right"}
    told = answered_at(told_visit, "look", **off).answer.step

    assert told.lines == [
        "To centre the steering wheel: right longer and left shorter by as many flats, "
        "9.6 flats for each degree that the front wheels point off."
    ]
    assert [one.title for one in told.corrections] == ["Both sides alike: 4 flats longer each"]


def test_form_asks_to_which_side_a_wheel_stands_that_is_off():
    assert list(the_form(wheel_off="0.5").errors) == ["wheel_stands"]
    assert the_form(wheel_off="0.5", wheel_stands="left").errors == {}
    assert the_form(wheel_stands="centred").errors == {}


def test_form_refuses_rods_while_camber_is_outside_and_nobody_said_how_it_adjusts():
    refused = answer_to("rod", **LEANS_IN)

    assert refused.pass_count == 1
    assert "Turn the camber sleeve before the tie rods" in refused.non_field_errors()[0]


def test_form_takes_the_last_step_back_with_what_was_typed_in_it():
    back = answer_to("back", **SLEEVE_TURNED)

    assert (back.pass_count, back["passes"].value()) == (1, "1")
    assert [name for name in back.data if "-p2_" in name] == []
    assert back["p1_left_top_1"].value() == FOUND_INSIDE["p1_left_top_1"]
    assert answer_to("back").pass_count == 1


def test_form_tells_what_the_last_turn_did_beside_the_formula(told_visit):
    # four flats a side ought to have moved it by 0.321 in and moved it by 1/4
    again = {f"p2_{end}_{k}": text for end, text in LESS_THAN_TOLD for k in (1, 2, 3)}
    fields = ROD_TURNED | TOE_HALF_AN_INCH | again | {"mark": "1/64 in"}

    (both,) = answered_at(told_visit, "look", **fields).answer.step.corrections

    assert both.title == "Both sides alike: 1 flat longer each"
    assert both.lines[-2:] == [
        "To the middle it is 1.0 flats; a flat does −0.063 in (−1.6 mm), "
        "as the last turn on this sheet did.",
        "The formula gives −0.080 in (−2.0 mm) a flat; the turn did 0.78 of that.",
    ]


LESS_THAN_TOLD = (("front", "35 7/8"), ("rear", "36 1/8"))


def test_form_tells_what_several_turns_did_with_its_range(told_visit, monkeypatch):
    seen = [Seen(share * 8, 8, 0.1) for share in (0.8, 0.9, 1.1)]
    monkeypatch.setattr("alignment.known.learnt", lambda *_args, **_given: Learnt(rod_cart=seen))

    (both,) = answered_at(told_visit, "look", **TOE_HALF_AN_INCH).answer.step.corrections

    assert both.lines[-2].endswith(", as seen on this cart.")
    assert both.lines[-1].endswith(" a flat; 3 turns did 0.90 of that (0.80 to 1.10).")


def test_form_leads_with_the_bent_part_after_a_kerb_hit(told_visit):
    told = answered_at(told_visit, "look", **TOE_HALF_AN_INCH, after_kerb_hit="on")

    step = told.answer.step
    assert step.title == (
        "After the kerb hit, look first for a bent or worn part: "
        "steering arm, knuckle, tie rod, wheel"
    )
    assert (step.corrections, told.answer.button) == ([], "")
    assert step.lines[0].startswith("Outside: toe. Nothing is turned to make up for a bend")


def test_form_fills_in_no_turn_after_a_kerb_hit(told_visit):
    turned = answered_at(told_visit, "rod", **TOE_HALF_AN_INCH, after_kerb_hit="on")

    assert turned["p2_left_turn"].value() in (None, "")


ODD_TOE = {f"p1_rear_{k}": "36 5/8" for k in (1, 2, 3)} | {"camber_adjusts": "sleeve"}


def test_form_asks_about_an_odd_reading_before_anything_is_turned(told_visit):
    asked = answered_at(told_visit, "look", **ODD_TOE)
    confirmed = answered_at(told_visit, "look", **ODD_TOE, confirmed="on")

    assert (asked.answer.step.kind, asked.answer.step.corrections) == ("odd-reading", [])
    assert "odd reading" in asked.answer.step.title
    assert confirmed.answer.step.kind == "turn-rod"


def test_form_warns_of_more_than_two_turns(told_visit):
    far = ODD_TOE | {f"p1_rear_{k}": "37 3/8" for k in (1, 2, 3)} | {"confirmed": "on"}
    step = answered_at(told_visit, "look", **far).answer.step

    assert step.corrections[0].title.startswith("Both sides alike: 2 turns and ")
    assert any(line.startswith("More than two turns: is the thread long") for line in step.lines)


def test_form_says_why_the_recheck_would_stay_open_though_all_is_inside():
    bare = {name: "" for name in ("pressure_set", "pressure_left", "pressure_right")}
    step = answer_to("look", **bare).answer.step

    assert step.title == "Inside, but the recheck stays open:"
    assert step.lines == ["Tyre pressures not recorded: read both, cold, then measure again."]
    assert answer_to("look").answer.step.title == "Done: all inside"


def test_form_says_how_often_toe_is_to_be_read_before_it_is():
    unread = {f"p1_{end}_{k}": "" for end in ("front", "rear") for k in (1, 2, 3)}
    step = answer_to("look", **unread, mark="1/16 in").answer.step

    assert step.lines == ["Read toe at least 2 times with this tape: once proves nothing."]


@pytest.mark.parametrize(
    ("flats", "said"),
    [
        (4, "4 flats longer"),
        (-6, "6 flats shorter"),
        (7, "1 turn and 1 flat longer (7 flats)"),
        (-12, "2 turns shorter (12 flats)"),
        (14, "2 turns and 2 flats longer (14 flats)"),
        (7.5, "1 turn and 1 1/2 flats longer (7 1/2 flats)"),
    ],
)
def test_many_flats_are_said_in_turns(flats, said):
    assert flats_said(flats) == said


def test_form_asks_where_the_arm_is_when_turns_of_before_moved_the_other_way(
    told_visit, monkeypatch
):
    seen = [Seen(-0.9 * 8, 8, 0.1)] * 10
    monkeypatch.setattr("alignment.known.learnt", lambda *_args, **_given: Learnt(rod_kit=seen))

    step = answered_at(told_visit, "look", **TOE_HALF_AN_INCH).answer.step

    assert step.lines[0] == (
        "10 turns on carts with this kit moved toe the other way than these figures say: "
        "is the arm ahead of or behind the axle?"
    )
    assert "by the formula" in step.corrections[0].lines[-1]


def test_form_tells_nothing_more_to_turn_after_a_turn_the_other_way(told_visit):
    wrong = {f"p2_rear_{k}": "36 1/2" for k in (1, 2, 3)} | {"confirmed": "on"}
    told = answered_at(told_visit, "look", **ROD_TURNED | TOE_HALF_AN_INCH | wrong)

    assert (told.answer.step.kind, told.answer.step.corrections) == ("look-at-turn", [])
    assert "the arm told on the wrong side of the axle" in told.answer.step.lines[0]
