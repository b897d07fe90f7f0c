from decimal import Decimal

import pytest

from alignment.parts import CamberToePart
from fleet.kinds import Start
from tests.alignment_factories import GaugeFactory, SheetFactory, ToeFactory, mm, placed

PART = CamberToePart()
THREE_TOES = ("36 1/16", "36 3/32", "36 1/32")


def outcome(*lines, **sheet):
    return PART.outcome(SheetFactory.build(**sheet), placed(*lines))


def gauges(left="0", right="0", stage="found"):
    return [
        GaugeFactory.build(side=side, stage=stage, gauge_deg=Decimal(text))
        for side, text in (("left", left), ("right", right))
    ]


def toes(*rears, stage="found", **kwargs):
    return [ToeFactory.build(rear=rear, stage=stage, **kwargs) for rear in rears or THREE_TOES]


def test_outcome_of_a_sheet_inside_closes():
    found = outcome(*gauges(), *toes())

    assert found.pieces == {"camber-toe"}
    assert (found.holds, found.starts, found.tag) == ((), (), "")


def test_outcome_closes_what_cannot_be_told():
    found = outcome(*gauges(left="0.4"), *toes("36 1/16"), mark_mm=mm("1/16"))

    assert found.pieces == {"camber-toe"}
    assert (found.holds, found.tag) == ((), "")


def test_outcome_holds_what_is_outside_and_says_it():
    found = outcome(*gauges(left="-1"), *toes())

    assert found.pieces == frozenset()
    assert [hold.reason for hold in found.holds] == [
        "outside: camber left -1.00°, camber, left less right -1.00°"
    ]
    assert found.tag == ""


def test_outcome_closes_what_was_put_right():
    found = outcome(
        *gauges(left="-2"),
        *toes("36 1/2", before_last_camber_turn=True),
        *gauges(stage="left"),
        *toes(stage="left"),
        camber_turned_left=True,
    )

    assert found.pieces == {"camber-toe"}
    assert (found.holds, found.tag) == ((), "")
    assert found.starts == (Start("camber-turned"),)


def test_outcome_holds_a_toe_that_was_read_before_the_camber_turn():
    found = outcome(
        *gauges(),
        *toes(before_last_camber_turn=True),
        *gauges(stage="left"),
        camber_turned_left=True,
    )

    assert found.pieces == frozenset()
    assert [hold.reason for hold in found.holds] == ["not measured so that it counts: toe"]


def test_outcome_holds_a_side_not_read_again_after_it_was_turned():
    found = outcome(*gauges(), *toes(stage="left"), camber_turned_right=True)

    assert [hold.reason for hold in found.holds] == ["not measured so that it counts: camber right"]


def test_outcome_holds_what_was_not_measured():
    found = outcome(*toes())

    assert [hold.reason for hold in found.holds] == [
        "not measured so that it counts: camber left, camber right"
    ]


def test_outcome_of_a_turned_tie_rod_starts_its_clock_and_needs_toe_again():
    again = outcome(*gauges(), *toes(), *toes(stage="left"), tie_rod_turned=True)
    stale = outcome(*gauges(), *toes(), tie_rod_turned=True)

    assert (again.starts, again.pieces) == ((Start("tie-rod-turned"),), {"camber-toe"})
    assert (stale.starts, stale.pieces) == ((Start("tie-rod-turned"),), frozenset())


@pytest.mark.parametrize(
    ("rear", "is_tagged"),
    [("35 7/8", False), ("35 13/16", True)],
    ids=["toe of nothing is outside, not proved out", "toe-out proved"],
)
def test_outcome_tags_toe_out_only_when_proved(rear, is_tagged):
    found = outcome(*gauges(), *toes(rear))

    assert found.pieces == frozenset()
    assert bool(found.tag) is is_tagged
    assert found.is_critical is False


def test_outcome_says_toe_out_in_both_units():
    assert outcome(*gauges(), *toes("35 3/4")).tag == "toe-out: toe -3.2 mm (-0.125 in)"


@pytest.mark.parametrize(("camber", "is_tagged"), [("1.5", False), ("1.6", True), ("-1.6", True)])
def test_outcome_tags_camber_beyond_a_degree_and_a_half(camber, is_tagged):
    found = outcome(*gauges(left=camber, right=camber), *toes())

    assert found.pieces == frozenset()
    assert bool(found.tag) is is_tagged


def test_outcome_does_not_tag_camber_that_was_corrected():
    lines = [*gauges(left="-2", right="-2"), *gauges(stage="left"), *toes(stage="left")]

    found = outcome(*lines, camber_turned_left=True, camber_turned_right=True)

    assert (found.tag, found.pieces) == ("", {"camber-toe"})


def test_outcome_frees_a_square_from_the_floor_but_not_a_gauge():
    floor = {"floor_fall_mm": mm("1/4"), "floor_over_mm": mm("36"), "floor_low_side": "left"}
    square = {"gauge_deg": None, "gap_bottom_mm": mm("1/2"), "between_mm": mm("12")}
    left = GaugeFactory.build(**square, gap_top_mm=mm("11/16"))
    right = GaugeFactory.build(**square, side="right", gap_top_mm=mm("1/2"))

    level, sloping = (outcome(left, right, *toes(), **sheet) for sheet in ({}, floor))
    by_gauge = outcome(*gauges(left="-0.9", right="-0.9"), *toes(), **floor)

    assert "camber left -0.90°" in level.holds[0].reason
    assert sloping.holds == ()  # -0.50 left, -0.40 right: can't tell
    assert "camber left -0.90°" in by_gauge.holds[0].reason
