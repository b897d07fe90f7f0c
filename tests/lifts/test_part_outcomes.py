"""What the other parts of a round amount to, from their facts and lines alone."""

from decimal import Decimal

import pytest

from lifts.models import (
    BrakeCheck,
    GreasePart,
    GreaseStroke,
    HubLook,
    HubPlayCheck,
    LabelCheck,
    SpeedRun,
    TyreCheck,
    TyreLine,
)
from lifts.parts.brake import Brake
from lifts.parts.grease import Grease
from lifts.parts.label import Label
from lifts.parts.speed import Speed
from lifts.parts.wheels import HubPlay, Tyres
from lifts.wheels import Wheel

RUN = {
    "marked_m": Decimal("12"),
    "time_1_s": Decimal("2.5"),
    "stop_1_m": Decimal("6"),
    "time_2_s": Decimal("2.6"),
    "stop_2_m": Decimal("6.5"),
}


def reasons(found):
    return [hold.reason for hold in found.holds]


def grease(**changes):
    return GreaseStroke(**({"name": "left king pin", "found": "greased", "strokes": 3} | changes))


def test_grease_closes_when_a_point_was_greased():
    assert Grease().outcome(GreasePart(), [grease()]).pieces == {"grease"}


def test_grease_is_not_done_where_no_point_was_taken_down():
    assert Grease().outcome(GreasePart(), []).pieces == frozenset()


@pytest.mark.parametrize(
    ("found", "reason"),
    [
        ("blocked", "left king pin: grease fitting blocked or missing"),
        ("not reached", "left king pin: not greased"),
    ],
)
def test_grease_does_not_close_with_a_point_left(found, reason):
    said = Grease().outcome(GreasePart(), [grease(name="shackle"), grease(found=found)])

    assert (said.pieces, reasons(said)) == (frozenset(), [reason])


def label(**changes):
    fine = {"in_place": True, "is_legible": True, "visible_from_seat": True}
    return LabelCheck(**(fine | changes))


def test_a_label_in_place_legible_and_visible_closes():
    assert Label().outcome(label(), []).pieces == {"label"}


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("in_place", "Warning label not in place"),
        ("is_legible", "Warning label not legible"),
        ("visible_from_seat", "Warning label not visible from the seat"),
    ],
)
def test_a_label_found_wrong_holds_until_it_is_replaced(wrong, said):
    found = Label().outcome(label(**{wrong: False}), [])
    replaced = Label().outcome(label(**{wrong: False}, replaced=True), [])

    assert reasons(found) == [f"{said}: replace it within 24 hours"]
    assert (found.pieces, found.tag) == (frozenset(), "")
    assert [start.event for start in found.starts] == ["label-wanting"]
    assert (replaced.pieces, replaced.starts) == ({"label"}, ())


def brake(**changes):
    fine = {"is_pedal_low": False, "holds_on_slope": True, "cable_free": True}
    return BrakeCheck(**(fine | changes))


def test_a_brake_that_holds_closes_and_two_stop_runs_close_theirs():
    assert Brake().outcome(brake(), []).pieces == {"brake"}
    assert Brake().outcome(brake(**RUN), []).pieces == {"brake", "stop-run"}


@pytest.mark.parametrize("left_out", sorted(RUN))
def test_half_a_stop_run_is_none(left_out):
    assert "stop-run" not in Brake().outcome(brake(**(RUN | {left_out: None})), []).pieces


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"holds_on_slope": False}, "Park brake does not hold"),
        ({"is_pedal_low": True}, "Brake pedal low or soft"),
    ],
)
def test_a_brake_that_does_not_hold_tags(wrong, said):
    found = Brake().outcome(brake(**wrong, **RUN), [])

    assert (found.tag, found.is_critical, reasons(found)) == (said, True, [said])
    assert found.pieces == {"stop-run"}


def test_a_brake_cable_that_drags_holds_without_a_tag():
    found = Brake().outcome(brake(cable_free=False), [])

    assert (found.pieces, found.tag) == (frozenset(), "")
    assert reasons(found) == ["Brake cable not free at full droop"]


def tyres(**changes):
    lines = [TyreLine(wheel=wheel, tread_ok=True, wall_ok=True) for wheel in Wheel]
    for name, value in changes.items():
        setattr(lines[1], name, value)
    return lines


def test_good_tyres_close():
    assert Tyres().outcome(TyreCheck(), tyres()).pieces == {"tyres"}


def test_a_cut_wall_tags_and_may_be_handed_back_by_whom_mended_it():
    found = Tyres().outcome(TyreCheck(), tyres(wall_ok=False))

    assert (found.tag, found.is_critical) == ("left rear tyre: wall cut or bulged", False)
    assert found.pieces == frozenset()


def test_worn_tread_holds_without_a_tag():
    found = Tyres().outcome(TyreCheck(), tyres(tread_ok=False))

    assert (reasons(found), found.tag) == (["left rear tyre: tread worn"], "")


def hubs(found):
    looks = [HubLook(wheel=wheel, found="no play") for wheel in Wheel]
    looks[0].found = found
    return looks


def test_hubs_without_play_close():
    assert HubPlay().outcome(HubPlayCheck(), hubs("no play")).pieces == {"hub-play"}


def test_hub_play_tags():
    found = HubPlay().outcome(HubPlayCheck(), hubs("play"))

    assert (found.tag, found.is_critical) == ("left front hub: play", True)
    assert found.pieces == frozenset()


def test_a_hub_not_reached_holds_without_a_tag():
    found = HubPlay().outcome(HubPlayCheck(), hubs("not reached"))

    assert (reasons(found), found.tag) == (["left front hub: not reached"], "")


def test_a_speed_run_closes_as_measured_and_tells_the_speed():
    run = SpeedRun(
        length_typed="440 ft",
        length_m=Decimal("134.112"),
        time_1_s=Decimal("14.60"),
        time_2_s=Decimal("15.00"),
    )

    said = list(Speed().said(run, []))

    # a run of before classes was copied in counts as the drive that it was
    assert Speed().outcome(run, []).pieces == {"speed", "drive"}
    assert said == [("speed", "32.6 km/h = 20.3 mph", "440 ft: 14.6 s, 15 s")]
