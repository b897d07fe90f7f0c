"""What any mix of looks at joints amounts to, whatever was found."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from lifts.findings import outcome_of_looks
from lifts.pieces import JOINTS
from tests.seen_joints import Seen

LOOKS = st.builds(
    Seen,
    name=st.sampled_from("abcdefgh"),
    family=st.sampled_from(sorted(JOINTS)),
    wheel=st.sampled_from(["", "left front", "right rear"]),
    is_critical=st.booleans(),
    is_thread_locked=st.booleans(),
    found=st.sampled_from(["firm", "took up", "slack", "gone", "not reached"]),
    action=st.sampled_from(["", "tightened", "relocked", "new nut", "new bolt"]),
    right_after=st.booleans(),
    pin=st.sampled_from(["", "undisturbed", "renewed", "pulled, not renewed", "missing"]),
    backed_off=st.booleans(),
    stud_damaged=st.booleans(),
    wrench_state=st.sampled_from([None, "good", "due", "doubted", "withdrawn", "unnamed"]),
    target_nm=st.sampled_from([None, Decimal(40)]),
    lacks=st.sampled_from([None, "target", "bearing"]),
    nut_off=st.sampled_from([None, True, False]),
    removals=st.sampled_from([None, 0, 3]),
    removals_allowed=st.sampled_from([None, 0, 3]),
    loose_before=st.sampled_from([None, 0, 1, 2]),
    clean_since=st.sampled_from([None, 0, 1]),
    is_always_new=st.sampled_from([None, True, False]),
)
ANY_LOOKS = st.lists(LOOKS, max_size=8, unique_by=lambda look: look.name)
STAGES = st.sampled_from(["settling", "recurring"])


def names_a_cause(look, stage):
    """Whether the rules name something in this look that takes a cart out of use."""
    is_loose = look.found in ("slack", "gone")
    return (
        (is_loose and (look.family != "other-joints" or look.is_critical))
        or (look.found == "took up" and look.family == "u-bolts" and stage == "recurring")
        or look.pin == "missing"
        or look.backed_off
        or look.stud_damaged
    )


@given(ANY_LOOKS, STAGES, st.sets(st.sampled_from(sorted(JOINTS))))
def test_any_mix_of_looks_keeps_the_promises(looks, stage, offered):
    said = outcome_of_looks(sorted(offered), stage, looks)

    held = {hold.piece for hold in said.holds}
    assert said.missed == tuple(look.name for look in looks if look.found == "not reached")
    assert not said.pieces & held
    assert all(hold.reason for hold in said.holds)
    assert said.pieces & JOINTS <= offered
    if said.tag:
        assert any(names_a_cause(look, stage) for look in looks)
    assert said.tag or not said.is_critical


@given(ANY_LOOKS, STAGES)
def test_a_piece_is_done_only_by_a_look_that_reached_it(looks, stage):
    said = outcome_of_looks(sorted(JOINTS), stage, looks)

    reached = {look.family for look in looks if look.found != "not reached"}
    assert said.pieces & JOINTS <= reached


@given(ANY_LOOKS, STAGES, st.randoms())
def test_the_order_of_looks_changes_nothing_that_counts(looks, stage, random):
    shuffled = random.sample(looks, len(looks))

    one = outcome_of_looks(sorted(JOINTS), stage, looks)
    other = outcome_of_looks(sorted(JOINTS), stage, shuffled)

    assert one.pieces == other.pieces
    assert set(one.holds) == set(other.holds)
    assert set(one.starts) == set(other.starts)
    assert one.is_critical == other.is_critical
