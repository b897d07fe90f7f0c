"""The forms of a round's parts: what they ask, what they refuse, what they record."""

from datetime import timedelta
from decimal import Decimal
from uuid import UUID, uuid5

import pytest

from fleet.kinds import register
from fleet.models import Round
from lifts.actions import fit
from lifts.kit_lines import read_joints
from tests.factories import MORNING
from tests.lift_factories import JOINT_LINES, a_cart, a_kit, a_site
from tests.lifts.visiting import a_visit, answers
from tests.wrench_factories import a_good_wrench

pytestmark = pytest.mark.django_db
LATER = MORNING + timedelta(days=2)
ROUND_ID = UUID("01234567-89ab-7def-8123-456789abcdef")


@pytest.fixture
def cart():
    site, manager = a_site()
    cart = a_cart(site, manager)
    a_good_wrench(site, manager)
    fit(cart, a_kit(site, manager), by=manager, at=MORNING + timedelta(days=1))
    return cart


def joints_form(cart, sent=None, **visit):
    return register.parts["joints"].form(a_visit(cart, LATER, **visit), sent)


def all_firm(cart, **by_name):
    return answers(joints_form(cart), "joints", **by_name)


def recorded(part_code, form, cart):
    row = Round(id=ROUND_ID, cart=cart, site=cart.site)
    [(fact, lines)] = register.parts[part_code].facts(row, form, {"cart_id": cart.pk})
    return fact, lines


def looks_by_name(form, cart):
    _fact, looks = recorded("joints", form, cart)
    return {look.name: look for look in looks}


def test_the_joints_are_asked_in_walking_order(cart):
    assert [card["joint"].name for card in joints_form(cart).cards()] == [
        "left front lugs",
        "left tie-rod end",
        "left rear lugs",
        "left U-bolts",
        "right rear lugs",
        "right front lugs",
        "right hub nut",
        "front frame",
    ]


@pytest.mark.parametrize(
    ("pieces", "names"),
    [
        ({"u-bolts"}, ["left U-bolts"]),
        ({"lugs:right rear"}, ["right rear lugs"]),
        ({"joint:front frame"}, ["front frame"]),
        ({"relocked:front frame"}, ["front frame"]),
        ({"grease"}, []),
    ],
)
def test_only_the_joints_of_the_wanted_work_are_asked(cart, pieces, names):
    form = joints_form(cart, pieces=pieces)

    assert [joint.name for joint in form.joints] == names


JAM_NUTS = "tie-rod jam nuts | steering-joints | | 2 | rod | | 40 N.m | | | jam nut | critical\n"


def test_jam_nuts_are_asked_for_alone_and_closed():
    site, manager = a_site()
    cart = a_cart(site, manager)
    a_good_wrench(site, manager)
    kit = a_kit(site, manager, joints=read_joints(JOINT_LINES + JAM_NUTS, "N.m"))
    fit(cart, kit, by=manager, at=MORNING + timedelta(days=1))

    page = joints_form(cart, pieces={"jam-nuts"})
    form = joints_form(cart, answers(page, "joints"), pieces={"jam-nuts"})
    assert form.is_valid(), form.errors
    fact, looks = recorded("joints", form, cart)

    assert [look.name for look in looks] == ["tie-rod jam nuts"]
    assert "jam-nuts" in register.parts["joints"].outcome(fact, looks).closing


def test_no_answer_is_pressed_beforehand(cart):
    page = joints_form(cart)

    assert [str(card["found"]).count("checked") for card in page.cards()] == [0] * 8


def test_an_unanswered_joint_is_named(cart):
    sent = all_firm(cart)
    [gone] = [name for name in sent if name.startswith("joints-found") and name in sent][3:4]
    del sent[gone]

    form = joints_form(cart, sent)

    assert not form.is_valid()
    assert list(form.errors.values()) == [["left U-bolts: say what was found"]]


def test_a_joint_that_moved_must_say_whether_it_is_right_now(cart):
    form = joints_form(cart, all_firm(cart, front_frame={"found": "took up"}))

    assert not form.is_valid()
    assert list(form.errors.values()) == [["front frame: say whether it is right now"]]


def test_a_pinned_joint_must_say_how_its_pin_is(cart):
    form = joints_form(cart, all_firm(cart, left_tie_rod_end={"pin": ""}))

    assert not form.is_valid()
    assert list(form.errors.values()) == [["left tie-rod end: say how its pin is"]]


def test_a_pinned_joint_not_reached_needs_no_pin(cart):
    sent = all_firm(cart, left_tie_rod_end={"found": "not reached", "pin": ""})

    assert joints_form(cart, sent).is_valid()


def test_a_family_left_out_is_neither_asked_nor_offered(cart):
    sent = {name: text for name, text in all_firm(cart).items() if "found" in name}
    steering = ("left tie-rod end", "right hub nut")
    skipped = {"joints-skip-steering-joints": "on", "joints-skip-hub-nuts": "on"}

    form = joints_form(cart, sent | skipped)

    assert form.is_valid(), form.errors
    fact, looks = recorded("joints", form, cart)
    assert fact.offered == ["lugs", "other-joints", "u-bolts"]
    assert not {look.name for look in looks} & set(steering)


@pytest.mark.parametrize(
    "sent",
    [
        {"joints-not_done": "on"},
        {
            f"joints-skip-{family}": "on"
            for family in ("lugs", "u-bolts", "hub-nuts", "steering-joints", "other-joints")
        },
    ],
)
def test_joints_left_out_record_nothing(cart, sent):
    form = joints_form(cart, sent)

    assert form.is_valid(), form.errors
    assert register.parts["joints"].facts(Round(id=ROUND_ID), form, {}) == []


def test_looks_keep_what_was_pressed_and_what_the_joint_is(cart):
    about = {"found": "took up", "moved": "2", "action": "tightened", "right": "yes"}
    form = joints_form(cart, all_firm(cart, front_frame=about))

    assert form.is_valid(), form.errors
    look = looks_by_name(form, cart)["front frame"]
    assert (look.found, look.moved_twelfths, look.action) == ("took up", 2, "tightened")
    assert (look.right_after, look.is_thread_locked, look.is_critical) == (True, True, False)
    assert looks_by_name(form, cart)["left front lugs"].wheel == "left front"


def test_a_firm_joint_is_right_and_did_not_move(cart):
    form = joints_form(cart, all_firm(cart, front_frame={"moved": "4"}))

    assert form.is_valid(), form.errors
    look = looks_by_name(form, cart)["front frame"]
    assert (look.right_after, look.moved_twelfths) == (True, None)


def test_a_part_keeps_its_stage_and_an_id_that_a_repeat_has_too(cart):
    form = joints_form(cart, all_firm(cart), stage="recurring")

    assert form.is_valid(), form.errors
    fact, looks = recorded("joints", form, cart)
    assert (fact.id, fact.stage) == (uuid5(ROUND_ID, "joints"), "recurring")
    assert [look.place for look in looks] == list(range(1, 9))


# grease remembers what was pumped in last time
@pytest.mark.parametrize(("code", "queries"), [("joints", 13), ("grease", 5)])
def test_a_list_of_joints_or_points_costs_the_same(cart, code, queries, django_assert_num_queries):
    visit = a_visit(cart, LATER)

    with django_assert_num_queries(queries):
        form = register.parts[code].form(visit, {})
        form.is_valid()
        list(form.cards())


# the label remembers what was measured, and shows what the kit has it say
@pytest.mark.parametrize(
    ("code", "queries"), [("label", 4), ("brake", 0), ("speed", 0), ("tyres", 0), ("hub-play", 0)]
)
def test_the_other_parts_cost_few_queries(cart, code, queries, django_assert_num_queries):
    visit = a_visit(cart, LATER)

    with django_assert_num_queries(queries):
        form = register.parts[code].form(visit, {})
        form.is_valid()


@pytest.mark.parametrize("code", ["grease", "label", "brake", "speed", "tyres", "hub-play"])
def test_an_empty_part_is_refused_and_left_out_it_is_not(cart, code):
    part, visit = register.parts[code], a_visit(cart, LATER)

    assert not part.form(visit, {}).is_valid()
    left_out = part.form(visit, {f"{code}-not_done": "on"})
    assert left_out.is_valid(), left_out.errors
    assert part.facts(Round(id=ROUND_ID), left_out, {}) == []


def test_rubber_is_named_and_not_asked(cart):
    form = register.parts["grease"].form(a_visit(cart, LATER))

    assert [point.name for point in form.points] == ["left king pin", "right king pin"]
    assert [point.name for point in form.rubber] == ["shackle bushings"]


def test_grease_keeps_strokes(cart):
    part, visit = register.parts["grease"], a_visit(cart, LATER)
    sent = {}
    for point in part.form(visit).points:
        sent |= {f"grease-found-{point.pk}": "greased", f"grease-strokes-{point.pk}": "4"}

    form = part.form(visit, sent)

    assert form.is_valid(), form.errors
    _fact, lines = recorded("grease", form, cart)
    assert [(line.found, line.strokes) for line in lines] == [("greased", 4)] * 2


def test_all_greased_answers_the_points_left_unpressed(cart):
    part, visit = register.parts["grease"], a_visit(cart, LATER)
    left, _right = part.form(visit).points

    form = part.form(visit, {"grease-all_greased": "on", f"grease-strokes-{left.pk}": "5"})

    assert form.is_valid(), form.errors
    _fact, lines = recorded("grease", form, cart)
    assert [(line.found, line.strokes) for line in lines] == [("greased", 5), ("greased", 3)]


def test_all_greased_leaves_what_was_said_of_a_point(cart):
    part, visit = register.parts["grease"], a_visit(cart, LATER)
    left, right = part.form(visit).points
    sent = {f"grease-found-{left.pk}": "blocked", f"grease-clean-{right.pk}": "on"}

    form = part.form(visit, {"grease-all_greased": "on", **sent})

    assert form.is_valid(), form.errors
    _fact, lines = recorded("grease", form, cart)
    assert [(line.found, line.strokes) for line in lines] == [("blocked", None), ("greased", None)]


def test_clean_grease_seen_stands_for_strokes_counted(cart):
    part, visit = register.parts["grease"], a_visit(cart, LATER)
    sent = {}
    for point in part.form(visit).points:
        sent |= {f"grease-found-{point.pk}": "greased", f"grease-clean-{point.pk}": "on"}

    form = part.form(visit, sent)

    assert form.is_valid(), form.errors
    _fact, lines = recorded("grease", form, cart)
    assert [(line.strokes, line.clean_seen) for line in lines] == [(None, True)] * 2


@pytest.mark.parametrize(
    ("pieces", "sent", "shows"),
    [
        ({"brake"}, {}, False),
        ({"brake", "stop-run"}, {}, True),
        ({"brake"}, {"brake-marked": "40"}, True),
    ],
)
def test_stop_runs_show_when_called_for_or_begun(cart, pieces, sent, shows):
    form = register.parts["brake"].form(a_visit(cart, LATER, pieces), sent)

    assert form.has_run() is shows


def test_brake_keeps_what_was_typed_beside_the_millimetres(cart):
    sent = {
        "brake-is_pedal_low": "no",
        "brake-holds_on_slope": "yes",
        "brake-cable_free": "no",
        "brake-travel_before": "1 1/8",
    }
    form = register.parts["brake"].form(a_visit(cart, LATER), sent)

    assert form.is_valid(), form.errors
    fact, _lines = recorded("brake", form, cart)
    assert (fact.travel_before_typed, fact.travel_before_mm) == ("1 1/8", Decimal("28.575"))
    assert (fact.holds_on_slope, fact.cable_free) == (True, False)
    assert not fact.has_stop_runs


def test_a_pedal_without_free_travel_is_a_finding(cart):
    said = {"is_pedal_low": "no", "holds_on_slope": "yes", "cable_free": "no", "travel_before": "0"}
    sent = {f"brake-{name}": value for name, value in said.items()}
    form = register.parts["brake"].form(a_visit(cart, LATER), sent)

    assert form.is_valid(), form.errors
    fact, _lines = recorded("brake", form, cart)
    assert (fact.travel_before_typed, fact.travel_before_mm) == ("0", 0)


def test_half_a_stop_run_is_sent_back(cart):
    sent = {
        "brake-is_pedal_low": "no",
        "brake-holds_on_slope": "yes",
        "brake-cable_free": "yes",
        "brake-marked": "40",
        "brake-time_1_s": "2.5",
    }
    form = register.parts["brake"].form(a_visit(cart, LATER), sent)

    assert not form.is_valid()
    assert sorted(form.errors) == ["stop_1", "stop_2", "time_2_s"]


def test_a_speed_run_is_kept_in_metres_and_as_typed(cart):
    sent = {"speed-length": "440", "speed-time_1_s": "14.6", "speed-time_2_s": "15"}
    form = register.parts["speed"].form(a_visit(cart, LATER), sent)

    assert form.is_valid(), form.errors
    fact, _lines = recorded("speed", form, cart)
    assert (fact.length_typed, fact.length_m) == ("440", Decimal("134.112"))
    assert next(iter(register.parts["speed"].said(fact, [])))[2] == "440 ft: 14.6 s, 15 s"


@pytest.mark.parametrize("length", ["3 m", "440 stone", "9**9**9", "-5", "nan", "99999 m"])
def test_a_length_that_cannot_be_right_is_refused(cart, length):
    sent = {"speed-length": length, "speed-time_1_s": "14.6", "speed-time_2_s": "15"}
    form = register.parts["speed"].form(a_visit(cart, LATER), sent)

    assert not form.is_valid()
    assert list(form.errors) == ["length"]


def test_tyres_keep_pressures_of_each_wheel(cart):
    sent = {}
    for wheel in ("left_front", "left_rear", "right_rear", "right_front"):
        sent |= {f"tyres-tread-{wheel}": "yes", f"tyres-wall-{wheel}": "yes"}
    form = register.parts["tyres"].form(
        a_visit(cart, LATER), sent | {"tyres-found-left_rear": "20"}
    )

    assert form.is_valid(), form.errors
    fact, lines = recorded("tyres", form, cart)
    assert list(register.parts["tyres"].said(fact, lines))[1][2] == "found 20 psi"
    assert [(line.wheel, line.found_typed) for line in lines] == [
        ("left front", ""),
        ("left rear", "20"),
        ("right rear", ""),
        ("right front", ""),
    ]
    assert round(lines[1].found_kpa, 1) == Decimal("137.9")


def test_a_flat_tyre_is_a_finding_and_none_is_set_to_nought(cart):
    sent = {}
    for wheel in ("left_front", "left_rear", "right_rear", "right_front"):
        sent |= {f"tyres-tread-{wheel}": "yes", f"tyres-wall-{wheel}": "yes"}
    part, visit = register.parts["tyres"], a_visit(cart, LATER)

    form = part.form(visit, sent | {"tyres-found-left_rear": "0", "tyres-set-left_rear": "20"})

    assert form.is_valid(), form.errors
    assert recorded("tyres", form, cart)[1][1].found_kpa == 0
    flat = part.form(visit, sent | {"tyres-set-left_rear": "0"})
    assert flat.errors == {"set-left_rear": ["“0” cannot be right here"]}


def test_parts_of_one_visit_ask_once_which_lift_and_kit_is_on(cart, django_assert_num_queries):
    visit = a_visit(cart, LATER)

    with django_assert_num_queries(16):
        joints, grease, _label = (
            register.parts[code].form(visit) for code in ("joints", "grease", "label")
        )

    assert (len(joints.joints), len(grease.points)) == (8, 2)
