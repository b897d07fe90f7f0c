"""A joint that the kit's list lacks: seen by a mechanic, decided by a manager, gone round after."""

from datetime import timedelta
from uuid import uuid4

import pytest

from fleet.actions import register
from fleet.kinds import Cut
from fleet.models import Cart
from lifts.actions import AboveProof, TargetOutsideBand, fit, remove_lift, replace_kit
from lifts.actions.extra_joints import (
    JointDecided,
    JointListed,
    JointOver,
    NotLifted,
    decline_joint,
    end_joint,
    see_joint,
    take_up_joint,
)
from lifts.extra_joints import DECLINED, ENDED, JOINT, waiting
from lifts.kit_lines import read_joints
from lifts.models import Joint, JointSeen
from lifts.told_joints import differences
from lifts.told_kits import differences as kit_differences
from lifts.visit_kit import fitting_on, joints_at, joints_beside, joints_on
from shared.facts import OtherBody
from shared.models import Change
from tests.factories import MORNING
from tests.lift_factories import JOINT_LINES, a_cart, a_site, joint_value, kit_value
from tests.lifts.visiting import a_visit
from tests.visiting import parts_of, visit

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
SEEN_AT, LISTED_AT, LATER = MORNING + HOUR, MORNING + 2 * HOUR, MORNING + 3 * HOUR


@pytest.fixture
def fitted(cart, kit, manager):
    fit(cart, kit, by=manager, at=MORNING)
    return Cart.objects.get(pk=cart.pk)


@pytest.fixture
def seen(fitted, manager):
    return saw(fitted, manager)


def saw(cart, by, name="tow eye", at=SEEN_AT, **about):
    about = {"name": name, "family": "other-joints", "wheel": "left rear", **about}
    return see_joint(cart, about, by=by, at=at)


def took_up(seen, by, at=LISTED_AT, **cells):
    cells = {"wheel": "left rear", **cells}
    return take_up_joint(seen, joint_value(seen.name, **cells), by=by, at=at)


def names_at(cart, at):
    return [joint.name for joint in joints_on(cart, Cut(at, at))]


def waiting_at(cart, at):
    return [one.name for one in waiting(Cart.objects.filter(pk=cart.pk), Cut(at, at))]


def told(site):
    return [*differences(site), *kit_differences(site)]


def test_what_was_seen_waits_and_is_not_gone_round(fitted, seen):
    assert waiting_at(fitted, LATER) == ["tow eye"]
    assert waiting_at(fitted, MORNING) == []
    assert "tow eye" not in names_at(fitted, LATER)


def test_taken_up_it_is_on_the_carts_list_from_then_on(site, fitted, seen, manager):
    reason = "It holds the tow bar"
    value = joint_value("tow eye", wheel="left rear", target="30 N.m", marks="critical")

    joint = take_up_joint(seen, value, reason=reason, by=manager, at=LISTED_AT)

    assert "tow eye" not in names_at(fitted, LISTED_AT - HOUR / 2)
    assert "tow eye" in names_at(fitted, LISTED_AT)
    assert (joint.cart_id, joint.kit.code, joint.is_critical) == (fitted.pk, "trial-kit", True)
    assert (joint.target_nm, joint.from_at, joint.until_at) == (30, LISTED_AT, None)
    change = Change.objects.get(what=JOINT)
    assert (change.reason, change.cart_id, change.value["seen"]) == (
        reason,
        fitted.pk,
        str(seen.pk),
    )
    assert waiting_at(fitted, LATER) == []
    assert told(site) == []


def test_it_is_walked_to_after_the_last_joint_of_its_wheel(fitted, seen, manager):
    took_up(seen, manager)
    took_up(saw(fitted, manager, "canopy strut"), manager, wheel="")

    names = names_at(fitted, LATER)

    assert names[names.index("left U-bolts") + 1] == "tow eye"
    assert names[-1] == "canopy strut"
    assert len(names) == 10


def test_another_cart_with_the_kit_has_it_not(site, fitted, kit, seen, manager):
    other = a_cart(site, manager, number="8")
    fit(other, kit, by=manager, at=MORNING)

    took_up(seen, manager)

    assert "tow eye" not in names_at(other, LATER)


def test_declined_it_stays_off_the_list_and_waits_no_more(fitted, seen, manager):
    decline_joint(seen, reason="The kit's list has it as U-bolts", by=manager, at=LISTED_AT)

    assert (waiting_at(fitted, LATER), "tow eye" in names_at(fitted, LATER)) == ([], False)
    assert waiting_at(fitted, LISTED_AT - HOUR / 2) == ["tow eye"]
    change = Change.objects.get(what=DECLINED)
    assert (change.reason, change.value["name"]) == ("The kit's list has it as U-bolts", "tow eye")


@pytest.mark.parametrize("first", ["take up", "decline"])
@pytest.mark.parametrize("second", ["take up", "decline"])
def test_it_is_decided_once(seen, manager, first, second):
    acts = {
        "take up": lambda: took_up(seen, manager),
        "decline": lambda: decline_joint(seen, reason="No", by=manager, at=LISTED_AT),
    }
    acts[first]()

    with pytest.raises(JointDecided):
        acts[second]()

    assert Change.objects.filter(what__in=(JOINT, DECLINED)).count() == 1


def test_each_act_sent_twice_is_done_once(site, fitted, manager):
    ids = [uuid4() for _each in range(4)]
    about = {"name": "tow eye", "family": "other-joints"}
    who = {"by": manager, "at": LISTED_AT}
    for _each in range(2):
        seen = see_joint(fitted, about, id=ids[0], **who)
        joint = take_up_joint(seen, joint_value("tow eye"), id=ids[1], **who)
        end_joint(joint, reason="Sold", id=ids[2], **who)
    other = see_joint(fitted, about, **who)
    for _each in range(2):
        decline_joint(other, reason="Sold", id=ids[3], **who)

    assert JointSeen.objects.count() == 2
    assert Change.objects.filter(what__in=(JOINT, DECLINED, ENDED)).count() == 3
    assert told(site) == []


def test_the_same_act_with_other_content_is_refused(seen, manager):
    id = uuid4()
    take_up_joint(seen, joint_value("tow eye"), id=id, by=manager, at=LISTED_AT)

    with pytest.raises(OtherBody):
        take_up_joint(seen, joint_value("tow bar"), id=id, by=manager, at=LISTED_AT)


@pytest.mark.parametrize("name", ["left U-bolts", "LEFT u-bolts"])
def test_a_name_of_the_kits_list_is_refused(fitted, manager, name):
    with pytest.raises(JointListed, match="left U-bolts"):
        took_up(saw(fitted, manager, name), manager)

    assert not Joint.objects.exclude(cart=None).exists()


def test_a_name_taken_up_before_is_refused(fitted, seen, manager):
    took_up(seen, manager)

    with pytest.raises(JointListed):
        took_up(saw(fitted, manager, "Tow Eye"), manager)


def test_lugs_of_a_wheel_whose_lugs_are_listed_are_refused(fitted, manager):
    spare = saw(fitted, manager, "more lugs")

    with pytest.raises(JointListed):
        took_up(spare, manager, family="lugs", wheel="left rear")


def test_without_a_lift_there_is_no_list(cart, manager):
    with pytest.raises(NotLifted):
        took_up(saw(cart, manager), manager)


def test_a_target_above_proof_needs_the_managers_reason_as_in_a_kit(site, seen, manager):
    value = joint_value("tow eye", thread="M10", target="25 lbf.ft")

    with pytest.raises(AboveProof, match=r"130% of proof as grade 4\.6"):
        take_up_joint(seen, value, by=manager, at=LISTED_AT)
    with pytest.raises(AboveProof):
        take_up_joint(seen, value | {"above_proof": " "}, by=manager, at=LISTED_AT)
    assert not Joint.objects.exclude(cart=None).exists()

    signed = value | {"above_proof": "Marked 8.8 under the paint"}
    take_up_joint(seen, signed, by=manager, at=LISTED_AT)

    assert Change.objects.get(what=JOINT).value["above_proof"] == "Marked 8.8 under the paint"
    assert told(site) == []


def test_a_target_outside_its_band_is_refused(seen, manager):
    value = joint_value("tow eye", target="30 N.m") | {"low_nm": "35"}

    with pytest.raises(TargetOutsideBand):
        take_up_joint(seen, value, by=manager, at=LISTED_AT)


def test_ended_it_is_gone_round_no_more_and_may_come_again(site, fitted, seen, manager):
    joint = took_up(seen, manager)

    ended = end_joint(joint, reason="Tow bar sold", by=manager, at=LATER)

    assert ("tow eye" in names_at(fitted, LATER - HOUR / 2)) is True
    assert "tow eye" not in names_at(fitted, LATER)
    assert (ended.reason, ended.value["joint"]) == ("Tow bar sold", str(joint.pk))
    with pytest.raises(JointOver):
        end_joint(joint, reason="Again", by=manager, at=LATER)
    took_up(saw(fitted, manager, at=LATER), manager, at=LATER + HOUR)
    assert names_at(fitted, LATER + HOUR).count("tow eye") == 1
    assert told(site) == []


def test_a_new_edition_of_the_kit_keeps_it(fitted, kit, seen, manager):
    took_up(seen, manager)

    replace_kit(kit, kit_value(edition="2"), by=manager, at=LATER)

    assert "tow eye" in names_at(fitted, LATER + HOUR)


def test_an_edition_that_lists_it_takes_its_place(fitted, kit, seen, manager):
    took_up(seen, manager)
    lines = JOINT_LINES + "Tow eye | other-joints | | 2 | | | | | | |\n"

    joints = read_joints(lines, "N.m")
    replace_kit(kit, kit_value(edition="2", joints=joints), by=manager, at=LATER)

    named = [name for name in names_at(fitted, LATER + HOUR) if name.lower() == "tow eye"]
    assert named == ["Tow eye"]


def test_it_ends_with_the_lift_and_comes_not_back_with_the_next(site, fitted, kit, seen, manager):
    took_up(seen, manager)
    fitting = fit_of(fitted)
    remove_lift(fitting, "Sold", by=manager, at=LATER)
    assert names_at(fitted, LATER) == []

    fit(fitted, kit, by=manager, at=LATER + HOUR)

    now = LATER + 2 * HOUR
    assert "tow eye" not in names_at(fitted, now)
    took_up(saw(fitted, manager, at=now), manager, at=now)
    assert names_at(fitted, now).count("tow eye") == 1
    assert Change.objects.get(what=ENDED).reason == "The lift that it was found on is off"
    assert told(site) == []


def fit_of(cart):
    return fitting_on(cart, Cut(LATER, LATER))


def test_a_round_goes_round_it_and_one_told_again_asks_for_what_was_listed_then(
    fitted, kit, seen, manager
):
    before = visit(fitted, parts_of(kit, ["joints"]), by=manager, at=SEEN_AT).round
    took_up(seen, manager)
    after = visit(fitted, parts_of(kit, ["joints"]), by=manager, at=LATER).round

    def asked(corrects, at=LATER + DAY):
        return [j.name for j in joints_at(a_visit(fitted, at, corrects=corrects))]

    assert "tow eye" in asked(None)
    assert "tow eye" in asked(after.pk)
    assert "tow eye" not in asked(before.pk)


def test_it_goes_with_its_cart_to_another_site(site, fitted, seen, manager):
    joint = took_up(seen, manager)
    there, _boss = a_site("osprey")
    moved_at = LATER + HOUR
    register.move_cart(fitted, there, by=manager, at=moved_at)
    fitted.refresh_from_db()
    assert "tow eye" in names_at(fitted, moved_at + HOUR)

    joint = Joint.objects.select_related("cart__site").get(pk=joint.pk)
    end_joint(joint, reason="Sold", by=manager, at=moved_at + HOUR)

    assert Change.objects.get(what=ENDED).site_id == there.pk
    assert (told(site), told(there)) == ([], [])


def test_rows_that_say_otherwise_are_named(site, fitted, seen, manager):
    joint = took_up(seen, manager)
    beside = Joint.objects.filter(pk=joint.pk)

    beside.update(is_critical=True)
    assert list(differences(site)) == [
        (joint.pk, "its row says something else (is_critical)"),
    ]
    beside.update(is_critical=False, until_at=LATER)
    assert list(differences(site)) == [(joint.pk, "its row says something else (until_at)")]
    beside.update(until_at=None)
    other = Joint.objects.create(id=uuid4(), kit_id=joint.kit_id, place=0, name="x", cart=fitted)
    assert list(differences(site)) == [(None, f"no change tells of the joint {other.pk}")]
    Joint.objects.filter(pk__in=[joint.pk, other.pk]).delete()
    assert list(differences(site)) == [(joint.pk, "its row is missing")]


def test_what_stands_beside_a_kit_is_asked_as_of_any_moment(fitted, seen, manager):
    took_up(seen, manager)

    def beside(at):
        return [joint.name for joint in joints_beside(fitted, Cut(at, at))]

    assert (beside(SEEN_AT), beside(LISTED_AT), beside(LATER)) == ([], ["tow eye"], ["tow eye"])
