"""Fitting records, kits, joints beside them and stability in the bundle; gaps as gaps."""

from decimal import Decimal

import pytest

from lifts.actions import fit
from lifts.actions.extra_joints import decline_joint, end_joint, see_joint, take_up_joint
from lifts.kit_lines import read_joints
from lifts.models import FittingLength, Joint
from tests.fleet.bundle_tables import tables_of
from tests.fleet.bundling import Fleet, on
from tests.lift_factories import a_kit, joint_value
from tests.round_factories import a_round
from tests.stability_factories import a_measure

pytestmark = pytest.mark.django_db

D = Decimal
NOW = on(4, 1)
CORNERS = {"left front": "300", "right front": "300", "left rear": "300", "right rear": "330"}
BEFORE_LATER = ("hub_bearing", "u_bolt_grade", "u_bolts_new", "block_why", "label_batch")


@pytest.fixture
def fleet():
    return Fleet("harbour")


def lengths(what, places):
    return [
        FittingLength(place=place, what=what, where=where, before_mm=D(200), after_mm=D(after))
        for place, (where, after) in enumerate(places.items(), start=1)
    ]


def whole(fleet, **about):
    """Fit the kit to a new cart with its record, whole but for what is said otherwise."""
    record = {
        "fitted_by": "A. Fitter",
        "rise_front_mm": D("76.2"),
        "rise_rear_mm": D("76.2"),
        "tyre_after": "20x10-10",
        "hub_bearing": "sealed",
        "lug_seat": "cone 60",
        "u_bolt_batch": "B-7",
        "u_bolt_thread": "M10",
        "u_bolt_grade": "8.8",
        "u_bolts_a_side": 2,
        "u_bolts_new": True,
        "locker_used": "none",
        "brake_tensioned": True,
        "clear_at_lock": True,
        "handed_to": "the desk",
        "label_batch": "L-2",
        **about,
    }
    cart = fleet.cart("7")
    lines = lengths("ride height", CORNERS)
    return cart, fit(cart, fleet.kit, by=fleet.mechanic, at=on(3, 2), lines=lines, **record)


def gaps(fleet, at=NOW, number="7"):
    rows = tables_of(fleet.site, at).rows("gaps")
    return {row["not_recorded"] for row in rows if row["cart"] == number}


def test_record_and_its_lengths_are_told_with_sides_that_stand_unequal(fleet):
    _cart, fitting = whole(fleet, u_bolts_new=False)

    tables = tables_of(fleet.site, NOW)
    row = tables.row("lift_chapters", chapter=str(fitting.pk))
    told = [
        (one["where"], one["before_mm"], one["after_mm"]) for one in tables.rows("fitting_lengths")
    ]

    assert (row["hub_bearing"], row["u_bolts_new"], row["u_bolt_grade"]) == ("sealed", "no", "8.8")
    assert told == [(where, "200", after) for where, after in CORNERS.items()]
    assert "Rear ride height: right" in row["remarks"] and "Old U-bolts" in row["remarks"]


def test_fitting_of_before_the_record_was_asked_is_empty_and_a_gap(fleet):
    cart = fleet.cart("7")
    fit(cart, fleet.kit, by=fleet.mechanic, at=on(3, 2), fitted_by="A. Fitter")

    row = tables_of(fleet.site, NOW).rows("lift_chapters")[0]

    assert [row[name] for name in BEFORE_LATER] == [""] * len(BEFORE_LATER)
    assert {
        "type of hub bearing",
        "grade of the U-bolts",
        "new U-bolts or old ones",
        "ride height at the four corners",
        "any test drive since the fitting",
        "any speed run since the fitting",
        "any timed stops since the fitting",
        "any measure of its stability",
    } <= gaps(fleet)


def test_what_is_recorded_is_no_gap(fleet):
    cart, _fitting = whole(fleet)
    before = gaps(fleet, on(3, 2, 12))
    a_round(cart, by=fleet.mechanic, at=on(3, 3), parts=("drive", "speed", "brake", "label"))
    a_measure(cart, fleet.mechanic, at=on(3, 4))

    after = gaps(fleet)

    assert before - after == {
        "any test drive since the fitting",
        "any speed run since the fitting",
        "any timed stops since the fitting",
        "any measure of its stability",
        "any look at the warning label",
        "any round",
    }
    assert after & {"type of hub bearing", "ride height at the four corners"} == set()
    assert "offset of the wheels" in after


def test_runs_of_before_the_fitting_prove_nothing_of_it(fleet):
    cart = fleet.lifted("7", on(3, 2))
    fit(cart, fleet.kit, by=fleet.mechanic, at=on(3, 10))

    assert "any speed run since the fitting" in gaps(fleet)


def test_one_handed_over_to_stands_by_reference_where_a_person_here(fleet):
    whole(fleet, handed_to=fleet.surveyor.name)

    told = [
        tables_of(fleet.site, NOW, with_names=names).row("lift_chapters")["handed_to"]
        for names in (False, True)
    ]

    assert told == ["P-0003", fleet.surveyor.name]


def test_joint_of_a_kit_is_told_with_its_share_of_proof_and_what_was_assumed(fleet):
    lines = "joint | thread | grade | target | family\nframe | M10 | | 34 N.m | other-joints\n"
    about = {"code": "bare", "joints": read_joints(lines, "N.m"), "above_proof": "Signed, tried"}
    kit = a_kit(fleet.site, fleet.manager, at=on(3, 2), **about)

    tables = tables_of(fleet.site, NOW)
    bare = tables.row("kit_joints", kit=str(kit.pk))
    marked = tables.row("kit_joints", kit=str(fleet.kit.pk), joint="left U-bolts")

    # 34 N.m / (0.2 * 10 mm) = 17 kN of 58 mm2 * 225 MPa (ISO 898-1 class 4.6): 130 %
    assert (bare["proof_grade"], bare["proof_nut_factor"]) == ("4.6", "0.2")
    assert 129 < float(bare["proof_share"]) < 132
    assert "grade not marked" in bare["proof_assumed"] and "K not given" in bare["proof_assumed"]
    assert (marked["proof_grade"], marked["weight_on"]) == ("8.8", "yes")
    assert "grade" not in marked["proof_assumed"]
    assert tables.row("kits", kit=str(kit.pk))["above_proof"] == "Signed, tried"


def test_joints_seen_are_told_with_what_was_decided(fleet):
    cart = fleet.lifted("7", on(3, 2))
    about = {"family": "other-joints"}
    eye, hook, _hoop = (
        see_joint(cart, {"name": name, **about}, by=fleet.mechanic, at=on(3, 5, 9, minute))
        for minute, name in enumerate(("tow eye", "tow hook", "hoop"))
    )
    value = joint_value("tow eye", thread="M10", grade="8.8", target="45 N.m", source="Board")
    taken = take_up_joint(eye, value, by=fleet.manager, at=on(3, 6))
    decline_joint(hook, reason="Not load bearing", by=fleet.manager, at=on(3, 7))
    end_joint(Joint.objects.get(pk=taken.pk), reason="Taken off", by=fleet.manager, at=on(3, 20))

    before, after = (tables_of(fleet.site, at) for at in (on(3, 5, 12), NOW))

    assert {row["decision"] for row in before.rows("joints_seen")} == {"waiting"}
    assert before.rows("joint_decisions") == []
    decided = {row["name"]: row["decision"] for row in after.rows("joints_seen")}
    assert decided == {"tow eye": "taken up", "tow hook": "declined", "hoop": "waiting"}
    rows = after.rows("joint_decisions")
    assert [(row["decision"], row["joint"], row["reason"]) for row in rows] == [
        ("taken up", "tow eye", ""),
        ("declined", "tow hook", "Not load bearing"),
        ("ended", "tow eye", "Taken off"),
    ]
    assert (rows[0]["target_nm"], rows[0]["grade"], rows[0]["source"]) == ("45", "8.8", "Board")
    assert (rows[0]["seen"], rows[2]["ends"]) == (str(eye.pk), str(taken.pk))
    assert {row["seen"] for row in rows[:2]} == {str(eye.pk), str(hook.pk)}


def test_stability_stands_before_and_now_as_of_the_day(fleet):
    cart = fleet.cart("7")
    measure = a_measure(cart, fleet.mechanic, at=on(3, 1))
    plain = tables_of(fleet.site, on(3, 1, 12))
    fit(cart, fleet.kit, by=fleet.mechanic, at=on(3, 2))

    tables = tables_of(fleet.site, NOW)
    rows = [one for one in tables.rows("stability") if one["load"] == "empty"]

    assert [one["state"] for one in plain.rows("stability")] == ["now", "now"]
    # 35 in over twice 21 in; 3 in of lift raise 85 % of the empty cart: 23.55 in
    assert [(one["state"], one["stability_factor"], one["tip_angle_deg"]) for one in rows] == [
        ("before", "0.833", "39.8"),
        ("now", "0.743", "36.6"),
    ]
    assert all("no source" in one["assumed"] for one in rows)
    row = tables.row("stability_measures", measure=str(measure.pk))
    assert (row["mass_typed"], row["height_mm"], row["steps"]) == ("1000 lb", "533.4", "0")


def test_axle_lift_is_told_step_by_step(fleet):
    steps = [("12 in", "40 lb"), ("18 in", "62 lb"), ("24 in", "86 lb")]
    about = {"cg": "", "wheelbase": "66 in", "hub_height": "9 in"}
    measure = a_measure(fleet.cart("7"), fleet.mechanic, at=on(3, 1), steps=steps, **about)

    tables = tables_of(fleet.site, NOW)
    told = tables.rows("axle_lifts")

    assert [(row["raised_typed"], row["gained_typed"]) for row in told] == steps
    assert {row["measure"] for row in told} == {str(measure.pk)}
    row = tables.row("stability_measures", measure=str(measure.pk))
    assert row["steps"] == "3" and row["cg_mm"] == "" and 500 < float(row["height_mm"]) < 800
