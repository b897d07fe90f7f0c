from decimal import Decimal

import pytest

from alignment.parts import CamberToePart
from fleet.kinds import Start
from tests.alignment_factories import (
    GaugeFactory,
    PassesFactory,
    SheetFactory,
    ToeFactory,
    TurnFactory,
    mm,
    placed,
)

PART = CamberToePart()
THREE_TOES = ("36 1/16", "36 3/32", "36 1/32")


def outcome(*lines, **sheet):
    return PART.outcome(SheetFactory.build(**sheet), placed(*lines))


def in_passes(*lines, **sheet):
    return PART.outcome(PassesFactory.build(**sheet), placed(*lines))


def gauges(left="0", right="0", stage="found", **kwargs):
    return [
        GaugeFactory.build(side=side, stage=stage, gauge_deg=Decimal(text), **kwargs)
        for side, text in (("left", left), ("right", right))
    ]


def one_pass(pass_no=1, left="0", right="0", rears=THREE_TOES):
    """Return the readings of a pass: both cambers, then toe."""
    stage = "found" if pass_no == 1 else "left"
    read = {"stage": stage, "pass_no": pass_no}
    return [*gauges(left, right, **read), *toes(*rears, **read)]


def a_turn(what="sleeve", pass_no=2, at="left"):
    return TurnFactory.build(what=what, at=at, pass_no=pass_no)


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


def test_outcome_of_one_pass_inside_closes():
    found = in_passes(*one_pass())

    assert found.pieces == {"camber-toe"}
    assert (found.holds, found.starts, found.tag, found.is_critical) == ((), (), "", False)


def test_outcome_of_passes_counts_the_last_ones():
    turned = [a_turn(), *one_pass(2, rears=("36 1/2",)), a_turn("rod", 3), *toes(pass_no=3)]

    found = in_passes(*one_pass(left="-2", rears=()), *turned, passes=3)

    assert (found.pieces, found.holds, found.tag) == ({"camber-toe"}, (), "")
    assert found.starts == (Start("camber-turned"), Start("tie-rod-turned"))


@pytest.mark.parametrize(
    ("turned", "missing"),
    [
        (a_turn(), "camber left, toe"),
        (a_turn(at="right"), "camber right, toe"),
        (a_turn("rod"), "toe"),
    ],
)
def test_outcome_holds_what_was_turned_and_not_read_again(turned, missing):
    found = in_passes(*one_pass(), turned, passes=2)

    assert [hold.reason for hold in found.holds] == [f"not measured so that it counts: {missing}"]


READY = {
    "pressures_equal": "tyre pressures not equal, cold: set both alike, then measure again",
    "tyres_alike": "tyres not alike: fit two alike, then measure again",
    "rolled_forward": "not rolled forward 10 ft: roll it, then measure again",
    "steering_centred": "not straight ahead, steering wheel held: centre it, then measure again",
    "usual_load": "without the usual load on the seat: load it, then measure again",
    "no_play": "play in the steering not ruled out: put it right first, then measure again",
    "lugs_first": "lugs not checked first: check them, then measure again",
    "floor_level": "floor not measured: see how level it is, then measure again",
}


@pytest.mark.parametrize("name", READY)
def test_outcome_holds_what_ought_to_have_held_before_measuring(name):
    read = {f"pressure_{side}_kpa": Decimal("137.895") for side in ("left", "right")}
    found = in_passes(*one_pass(), **read, **{name: False})

    assert [(hold.piece, hold.reason) for hold in found.holds] == [("camber-toe", READY[name])]
    assert found.pieces == frozenset()


def test_outcome_says_of_pressures_that_were_not_read_that_they_are_not_recorded():
    (hold,) = in_passes(*one_pass(), pressures_equal=False).holds

    assert hold.reason == "tyre pressures not recorded: read both, cold, then measure again"


@pytest.mark.parametrize(
    ("tight", "lines", "tag"),
    [
        (False, [a_turn("rod"), *toes(pass_no=2)], "jam nuts not tightened after turning"),
        (True, [a_turn("rod"), *toes(pass_no=2)], ""),
        (None, [a_turn("rod"), *toes(pass_no=2)], ""),
        (False, [], ""),
    ],
)
def test_outcome_tags_a_cart_whose_jam_nuts_are_loose_after_a_turn(tight, lines, tag):
    found = in_passes(*one_pass(), *lines, passes=2, jam_nuts=tight)

    assert (found.tag, found.is_critical) == (tag, bool(tag))


def test_outcome_tags_for_both_a_bend_and_loose_jam_nuts():
    lines = [*one_pass(left="-2"), a_turn("rod"), *toes(pass_no=2)]

    found = in_passes(*lines, passes=2, jam_nuts=False, camber_adjusts="not")

    assert found.tag == (
        "camber beyond 1.5 degrees, not adjustable, look for a bent or worn part: "
        "camber left -2.00° (minus = top in); jam nuts not tightened after turning"
    )


def test_outcome_of_an_old_entry_is_not_tagged_for_jam_nuts():
    assert outcome(*gauges(), *toes(), tie_rod_turned=True, jam_nuts=False).tag == ""


def test_outcome_takes_a_floor_that_slopes_as_measured():
    slope = {"floor_fall_mm": mm("1/4"), "floor_over_mm": mm("36"), "floor_low_side": "left"}

    assert in_passes(*one_pass(), floor_level=False, **slope).holds == ()
    assert in_passes(*one_pass(), floor_level=False, floor_plates=False).holds == ()


@pytest.mark.parametrize(("centred", "is_held"), [(False, True), (True, False), (None, False)])
def test_outcome_holds_a_steering_wheel_that_was_left_off_centre(centred, is_held):
    rods = [a_turn("rod"), *toes(pass_no=2)]

    turned = in_passes(*one_pass(), *rods, passes=2, wheel_centred=centred)
    read = in_passes(*one_pass(), wheel_centred=centred)

    assert bool(turned.holds) is is_held
    assert read.holds == ()


@pytest.mark.parametrize(
    ("lines", "sheet", "is_driven"),
    [
        ([], {"driven": True}, True),
        ([], {}, False),
        ([a_turn("rod"), *toes(pass_no=2)], {"driven": True}, False),
        ([a_turn("rod"), *toes(pass_no=2), *one_pass(3)], {"drive_pass": 3}, True),
        ([*one_pass(2), a_turn("rod", 3), *toes(pass_no=3)], {"drive_pass": 2}, False),
    ],
)
def test_outcome_did_the_drive_only_as_the_cart_was_left(lines, sheet, is_driven):
    found = in_passes(*one_pass(), *lines, passes=3, **sheet)

    assert ("drive" in found.pieces) is is_driven


@pytest.mark.parametrize(("nipped", "is_done"), [(True, True), (False, False), (None, False)])
def test_outcome_did_the_jam_nuts_where_it_says_so(nipped, is_done):
    assert ("jam-nuts" in in_passes(*one_pass(), jam_nuts=nipped).pieces) is is_done


KEY = "(minus = top in)"


def test_a_reason_with_camber_below_nought_has_the_key_to_its_sign():
    held = {
        left: [hold.reason for hold in in_passes(*one_pass(left=left)).holds]
        for left in ("-1", "1")
    }

    assert [reason.endswith(f" {KEY}") for reason in held["-1"]] == [True]
    assert [KEY in reason for reason in held["1"]] == [False]


@pytest.mark.parametrize(
    ("hit", "left", "tag", "is_critical"),
    [
        (True, "0", "", False),
        (True, "0.45", "", False),
        (False, "-1", "", False),
        (None, "-1", "", False),
        (
            True,
            "-1",
            "outside after a kerb hit, look for a bent part: camber left -1.00° " + KEY,
            True,
        ),
        (False, "-2", "camber beyond 1.5 degrees: camber left -2.00° " + KEY, False),
        (
            True,
            "-2",
            "outside after a kerb hit, look for a bent part: camber left -2.00° " + KEY,
            True,
        ),
    ],
)
def test_outcome_tags_what_is_outside_after_a_kerb_hit(hit, left, tag, is_critical):
    found = in_passes(*one_pass(left=left), after_kerb_hit=hit, side_to_side_deg=Decimal(9))

    assert (found.tag, found.is_critical) == (tag, is_critical)


@pytest.mark.parametrize(
    ("lines", "starts"),
    [
        (one_pass(left="-1"), ["camber-toe-outside"]),
        (one_pass(rears=("36 3/8",) * 3), ["camber-toe-outside"]),
        (one_pass(left="0.45"), []),
        ([*one_pass(left="-1"), a_turn("rod"), *toes(pass_no=2)], ["tie-rod-turned"]),
    ],
    ids=["camber outside", "toe outside", "can't tell", "outside and turned"],
)
def test_outcome_calls_again_for_what_was_left_outside_unturned(lines, starts):
    assert [start.event for start in in_passes(*lines, passes=2).starts] == starts


def test_outcome_of_an_old_entry_outside_starts_nothing():
    assert outcome(*gauges(left="-1"), *toes()).starts == ()


def test_outcome_asks_an_old_entry_for_no_more_than_it_was_asked():
    found = outcome(*gauges(), *toes(), after_kerb_hit=None)

    assert (found.pieces, found.holds) == ({"camber-toe"}, ())
