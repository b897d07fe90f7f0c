"""What looks at joints amount to, rule by rule."""

from decimal import Decimal

import pytest

from fleet.kinds import Start
from tests.seen_joints import Seen, lug, outcome, reasons, tie_rod, u_bolt


def test_firm_joints_close_their_family_and_themselves():
    found = outcome(lug(), Seen())

    assert found.pieces == {
        "lugs",
        "lugs:left front",
        "joint:left front lugs",
        "other-joints",
        "joint:front frame",
    }
    assert (found.holds, found.starts, found.missed, found.tag) == ((), (), (), "")


def test_a_wheel_asked_for_alone_does_not_close_all_lugs():
    found = outcome(lug(), offered=["lugs:left front"])

    assert found.pieces == {"lugs:left front", "joint:left front lugs"}


def test_a_joint_not_reached_is_missed_and_the_rest_closes():
    found = outcome(lug(), lug(name="right front lugs", wheel="right front", found="not reached"))

    assert found.missed == ("right front lugs",)
    assert found.left_out == {"lugs:right front"}
    assert "lugs" in found.pieces
    assert "lugs:right front" not in found.pieces
    assert "joint:right front lugs" not in found.pieces


def test_a_family_of_which_nothing_was_reached_is_not_done():
    assert outcome(u_bolt(found="not reached")).pieces == frozenset()


@pytest.mark.parametrize(
    ("found", "reason"),
    [
        ("slack", "front frame: slack and not put right"),
        ("gone", "front frame: gone and not replaced"),
        ("took up", "front frame: took up and does not hold its target yet"),
    ],
)
def test_a_joint_not_put_right_holds_its_family_open(found, reason):
    said = outcome(Seen(found=found, right_after=False), Seen(name="bumper"))

    assert reasons(said) == [reason]
    assert {hold.piece for hold in said.holds} >= {"other-joints", "joint:front frame"}
    assert said.pieces == {"joint:bumper"}
    assert said.tag == ""


@pytest.mark.parametrize("found", ["slack", "gone", "took up"])
def test_a_plain_joint_put_right_closes(found):
    said = outcome(Seen(found=found, action="tightened"))

    assert said.pieces == {"other-joints", "joint:front frame"}
    assert (said.holds, said.tag) == ((), "")


def test_a_critical_joint_left_slack_tags_and_put_right_does_not():
    left = outcome(Seen(found="slack", is_critical=True, right_after=False))
    right = outcome(Seen(found="slack", is_critical=True))

    assert (left.tag, left.is_critical) == ("front frame: slack", True)
    assert (right.tag, right.is_critical) == ("", False)


@pytest.mark.parametrize("found", ["slack", "gone"])
def test_lugs_found_loose_are_looked_at_again_soon(found):
    seen = {"found": found, "action": "new bolt", "loose_before": 0}

    said = outcome(lug(**seen), lug(**seen | {"loose_before": None}))

    assert said.starts == (Start("lug-took-up", "left front"),)
    assert outcome(lug(**seen | {"loose_before": None})).starts == ()


@pytest.mark.parametrize("found", ["slack", "gone"])
@pytest.mark.parametrize("look", [lug(), u_bolt(), tie_rod(), Seen(family="hub-nuts")])
def test_a_loose_wheel_axle_or_steering_joint_tags_put_right_or_not(look, found):
    said = outcome(Seen(**{**vars(look), "found": found, "action": "tightened"}))

    assert said.tag == f"{look.name}: {found}"
    assert said.is_critical
    assert look.family in said.pieces


@pytest.mark.parametrize("stage", ["settling", "recurring"])
def test_a_slack_u_bolt_is_looked_at_again_at_any_stage(stage):
    said = outcome(u_bolt(found="slack"), stage=stage)

    assert said.starts == (Start("u-bolt-slack"),)


def test_a_u_bolt_that_took_up_while_settling_is_bedding():
    said = outcome(u_bolt(found="took up", action="tightened"))

    assert said.starts == (Start("u-bolt-took-up"),)
    assert (said.tag, "u-bolts" in said.pieces) == ("", True)


def test_a_u_bolt_that_took_up_after_settling_tags():
    said = outcome(u_bolt(found="took up", action="tightened"), stage="recurring")

    assert said.tag.startswith("left U-bolts: took up after settling")
    assert (said.is_critical, said.starts) == (False, (Start("u-bolt-slack"),))


def test_a_lug_that_took_up_calls_for_the_whole_wheel_and_again_soon():
    begun = outcome(lug(found="took up", right_after=False))
    finished = outcome(lug(found="took up", action="tightened"))

    assert begun.starts == finished.starts == (Start("lug-took-up", "left front"),)
    assert reasons(begun) == [
        "left front lugs: took up, and the whole wheel was not gone round again"
    ]
    assert "lugs:left front" not in begun.pieces
    assert "lugs:left front" in finished.pieces


@pytest.mark.parametrize(("action", "holds"), [("", True), ("new bolt", False)])
def test_a_damaged_stud_tags_and_holds_until_replaced(action, holds):
    said = outcome(lug(stud_damaged=True, action=action))

    assert (said.tag, said.is_critical) == ("left front lugs: stud damaged", True)
    assert bool(said.holds) is holds


def test_a_missing_pin_tags_at_once():
    said = outcome(tie_rod(pin="missing"))

    assert (said.tag, said.is_critical) == ("left tie-rod end: pin missing", True)
    assert said.pieces == frozenset()


@pytest.mark.parametrize("changes", [{"found": "slack"}, {"found": "gone"}, {"pin": "missing"}])
def test_a_loose_steering_joint_calls_for_all_of_the_steering(changes):
    assert outcome(tie_rod(loose_before=0, **changes)).starts == (Start("steering-loose"),)


@pytest.mark.parametrize("changes", [{"found": "slack"}, {"pin": "missing"}])
def test_a_steering_joint_loose_before_there_was_a_clock_for_it_starts_none(changes):
    said = outcome(tie_rod(**changes))

    assert (said.starts, said.is_critical) == ((), True)


def test_a_hub_nut_without_its_pin_is_no_matter_of_the_steering():
    said = outcome(tie_rod(name="left hub nut", family="hub-nuts", pin="missing", loose_before=0))

    assert (said.tag, said.starts) == ("left hub nut: pin missing", ())


def test_a_pin_pulled_and_not_renewed_holds_without_a_tag():
    said = outcome(tie_rod(pin="pulled, not renewed"))

    assert reasons(said) == ["left tie-rod end: pin pulled and no new one fitted"]
    assert said.tag == ""


def test_a_castle_nut_backed_off_tags_and_holds():
    said = outcome(tie_rod(pin="renewed", backed_off=True))

    assert said.tag == "left tie-rod end: castle nut backed off to fit the pin"
    assert said.pieces == frozenset()


def test_a_thread_locked_joint_only_tightened_is_to_be_locked_again():
    said = outcome(Seen(found="took up", is_thread_locked=True, action="tightened"))

    assert said.starts == (Start("lock-again", "front frame"),)
    assert {hold.piece for hold in said.holds} == {
        "other-joints",
        "joint:front frame",
        "relocked:front frame",
    }
    assert said.pieces == frozenset()


@pytest.mark.parametrize("action", ["relocked", "new nut", "new bolt"])
def test_a_thread_locked_joint_locked_anew_closes_that_too(action):
    said = outcome(
        Seen(found="took up", is_thread_locked=True, action=action),
        offered=["relocked:front frame"],
    )

    assert said.pieces == {"joint:front frame", "relocked:front frame"}
    assert (said.starts, said.holds) == ((), ())


def test_a_firm_look_alone_does_not_stand_for_locking_again():
    said = outcome(Seen(is_thread_locked=True), offered=["relocked:front frame"])

    assert "relocked:front frame" not in said.pieces


@pytest.mark.parametrize(
    ("look", "reason"),
    [
        (Seen(lacks="target"), "front frame: no target: kit sheet needed"),
        (
            tie_rod(family="hub-nuts", lacks="bearing"),
            "left tie-rod end: hub bearing type unknown, so no figure to tighten to",
        ),
    ],
)
def test_a_joint_of_which_something_is_unknown_holds(look, reason):
    said = outcome(look)

    assert reasons(said) == [reason]
    assert (said.pieces, said.tag) == (frozenset(), "")


@pytest.mark.parametrize(
    ("state", "reason"),
    [
        ("unnamed", "left front lugs: no wrench named"),
        ("due", "left front lugs: done with a wrench that is out of date"),
        ("doubted", "left front lugs: done with a wrench in doubt"),
        ("withdrawn", "left front lugs: done with a wrench withdrawn from use"),
    ],
)
@pytest.mark.parametrize("found", ["firm", "took up", "slack"])
def test_a_wrench_that_cannot_be_believed_holds_what_it_tightened(state, reason, found):
    said = outcome(lug(found=found, target_nm=Decimal(80), wrench_state=state))

    assert reasons(said) == [reason]
    assert said.pieces & {"lugs", "lugs:left front"} == set()


@pytest.mark.parametrize(
    "look",
    [
        lug(target_nm=Decimal(80), wrench_state="good"),
        lug(target_nm=None, wrench_state="unnamed"),
        lug(found="gone", target_nm=Decimal(80), wrench_state="good", action="new bolt"),
    ],
)
def test_a_good_wrench_or_none_needed_holds_nothing(look):
    assert outcome(look).holds == ()


def test_a_new_part_for_one_that_was_gone_is_held_by_its_wrench_as_well():
    new = lug(found="gone", action="new bolt", target_nm=Decimal(80), wrench_state="unnamed")
    left = lug(**{**vars(new), "action": "", "right_after": False})

    assert reasons(outcome(new)) == ["left front lugs: no wrench named"]
    assert reasons(outcome(left)) == ["left front lugs: gone and not replaced"]


@pytest.mark.parametrize(
    ("action", "loose_before", "holds"),
    [
        ("", 0, True),
        ("tightened", 0, True),
        ("new nut", 0, False),
        ("new bolt", 0, False),
        ("relocked", 0, False),
        ("tightened", None, False),
    ],
)
def test_what_was_gone_is_right_only_with_a_new_part_in(action, loose_before, holds):
    look = Seen(found="gone", is_critical=True, action=action, loose_before=loose_before)
    said = outcome(look)

    assert reasons(said) == (["front frame: gone and not replaced"] if holds else [])
    assert said.tag == ("front frame: gone" if holds else "")


def test_a_joint_not_reached_is_not_held_for_what_is_not_known_of_it():
    look = lug(found="not reached", target_nm=Decimal(80), wrench_state="due", lacks="target")

    assert outcome(look).holds == ()


@pytest.mark.parametrize(
    ("removals", "allowed", "action", "holds"),
    [
        (2, 2, "", False),
        (3, 2, "", True),
        (3, 2, "tightened", True),
        (3, 2, "new nut", False),
        (9, None, "", False),
        (None, 2, "", False),
        (1, 0, "", True),
    ],
)
def test_a_self_locking_nut_is_taken_off_only_so_often(removals, allowed, action, holds):
    said = outcome(Seen(removals=removals, removals_allowed=allowed, action=action))

    over = "front frame: its nut was off more often than it may be; fit a new one"
    assert reasons(said) == ([over] if holds else [])


@pytest.mark.parametrize(
    ("nut_off", "action", "holds"),
    [(False, "", False), (True, "", True), (True, "new nut", False), (True, "new bolt", False)],
)
def test_what_is_to_be_new_each_time_holds_when_put_back(nut_off, action, holds):
    said = outcome(Seen(is_always_new=True, nut_off=nut_off, action=action))

    again = "front frame: undone and put back; it is to be new each time"
    assert reasons(said) == ([again] if holds else [])


def test_the_first_clean_look_after_a_loose_u_bolt_calls_for_another():
    assert outcome(u_bolt(clean_since=0)).starts == (Start("u-bolt-slack"),)


@pytest.mark.parametrize("clean_since", [None, 1, 2])
def test_a_u_bolt_never_loose_or_clean_twice_in_a_row_is_as_before(clean_since):
    said = outcome(u_bolt(clean_since=clean_since))

    assert (said.starts, "u-bolts" in said.pieces) == ((), True)


@pytest.mark.parametrize(
    ("found", "stage"), [("slack", "settling"), ("gone", "settling"), ("took up", "recurring")]
)
@pytest.mark.parametrize(("action", "holds"), [("tightened", True), ("new bolt", False)])
def test_a_u_bolt_loose_twice_in_a_row_is_held_unless_renewed(found, stage, action, holds):
    said = outcome(u_bolt(found=found, action=action, loose_before=1), stage=stage)

    twice = "left U-bolts: loose twice in a row; new U-bolts and nuts, and look for the cause"
    assert reasons(said)[-1:] == ([twice] if holds else [])
    assert said.starts == (Start("u-bolt-slack"),)


def test_a_u_bolt_loose_three_times_in_a_row_stays_tagged_though_renewed():
    said = outcome(u_bolt(found="took up", action="new bolt", loose_before=2), stage="recurring")

    thrice = "left U-bolts: loose three times in a row; it stays tagged until the cause is found"
    assert reasons(said) == [thrice]
    assert thrice in said.tag
    assert said.is_critical


def test_a_u_bolt_that_takes_up_while_settling_is_not_loose_again():
    said = outcome(u_bolt(found="took up", action="tightened", loose_before=2))

    assert (said.holds, said.tag) == ((), "")
