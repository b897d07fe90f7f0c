"""Kits on record: targets above proof load, editions, and rows that say what changes say."""

from datetime import timedelta
from decimal import Decimal

import pytest

from lifts.actions import AboveProof, TargetOutsideBand, add_kit, fit, replace_kit
from lifts.kit_lines import read_joints
from lifts.models import Joint, Kit, Look
from lifts.told_kits import differences
from lifts.visit_kit import joints_at
from shared.models import Change
from tests.factories import MORNING
from tests.lift_factories import a_cart, kit_value
from tests.lifts.visiting import a_visit
from tests.visiting import parts_of, visit

pytestmark = pytest.mark.django_db
UNMARKED = "joint | family | thread | grade | target\nU-bolts | u-bolts | M10 | | 25 lbf.ft"


def value_of(lines, **changes):
    return kit_value(joints=read_joints(lines, "N.m"), **changes)


def test_a_target_above_proof_is_refused_and_named(site, manager):
    with pytest.raises(AboveProof) as refused:
        add_kit(site, value_of(UNMARKED), by=manager, at=MORNING)

    assert str(refused.value) == "U-bolts: 130% of proof as grade 4.6, K 0.20"
    [(joint, share)] = refused.value.joints
    assert (joint.name, share.is_grade_assumed, share.is_nut_factor_assumed) == (
        "U-bolts",
        True,
        True,
    )
    assert not Change.objects.filter(what="kit").exists()


@pytest.mark.parametrize("reason", ["", "  \n"])
def test_an_empty_reason_signs_nothing(site, manager, reason):
    with pytest.raises(AboveProof):
        add_kit(site, value_of(UNMARKED, above_proof=reason), by=manager, at=MORNING)


def test_a_managers_reason_lets_it_stand_and_is_kept(site, manager):
    reason = "The maker wrote on 3 March that the bolts are 8.8"

    kit = add_kit(site, value_of(UNMARKED, above_proof=reason), by=manager, at=MORNING)

    change = Change.objects.get(pk=kit.pk)
    assert (kit.above_proof, change.value["above_proof"], change.by) == (reason, reason, manager)


def test_a_new_edition_is_asked_for_its_own_reason(site, manager):
    kit = add_kit(site, value_of(UNMARKED, above_proof="Tried"), by=manager, at=MORNING)

    with pytest.raises(AboveProof):
        replace_kit(kit, value_of(UNMARKED, edition="2"), by=manager, at=MORNING)

    assert Kit.objects.current().get() == kit


def test_a_grade_that_is_marked_needs_no_reason(site, manager):
    marked = UNMARKED.replace("M10 | |", "M10 | 8.8 |")

    assert add_kit(site, value_of(marked), by=manager, at=MORNING).above_proof == ""


@pytest.mark.parametrize(
    "figures",
    [
        {"low_nm": "40", "target_nm": "35"},
        {"target_nm": "35", "high_nm": "30"},
        {"target_nm": None, "low_nm": "40", "high_nm": "30"},
    ],
)
def test_a_target_outside_its_own_band_is_refused(site, manager, figures):
    value = kit_value()
    value["joints"] = [dict(value["joints"][3], **figures)]

    with pytest.raises(TargetOutsideBand, match="left U-bolts"):
        add_kit(site, value, by=manager, at=MORNING)


def test_figures_of_many_digits_leave_rows_that_say_what_the_change_says(site, manager):
    lines = UNMARKED.replace("| |", "| 8.8 |").replace("target", "target | low | grip | K")
    lines += " | 22 lbf.ft | 5 7/8 in | 0.1834"

    kit = add_kit(site, value_of(lines), by=manager, at=MORNING)

    assert kit.joints.get().target_nm == Decimal("33.8954")
    assert list(differences(site)) == []


def test_a_joint_beside_the_kits_own_is_no_row_without_a_change(site, manager, kit):
    Joint.objects.create(id=kit.pk, kit=kit, place=99, name="tow eye", cart=a_cart(site, manager))

    assert list(differences(site)) == []
    assert "tow eye" not in [joint.name for joint in kit.joints.on_sheet()]


def test_a_joint_beside_another_carts_kit_is_not_gone_round(site, manager, kit, cart):
    other = a_cart(site, manager, number="8")
    Joint.objects.create(id=kit.pk, kit=kit, place=99, name="tow eye", cart=other)
    fit(cart, kit, by=manager, at=MORNING)

    names = [joint.name for joint in joints_at(a_visit(cart, MORNING))]

    assert names == list(kit.joints.on_sheet().order_by("place").values_list("name", flat=True))


def test_a_round_keeps_the_joint_and_target_of_the_edition_it_was_done_under(
    site, manager, kit, cart
):
    fit(cart, kit, by=manager, at=MORNING)
    visit(cart, parts_of(kit, ["joints"]), by=manager, at=MORNING + timedelta(days=1))
    before = kept_of(cart)

    other = [joint | {"target_nm": "30", "target_typed": "30 N.m"} for joint in kit_joints()]
    new = replace_kit(
        kit, kit_value(edition="edition 2", joints=other), by=manager, at=MORNING + DAYS
    )

    assert kept_of(cart) == before
    assert {joint.kit_id for joint in Joint.objects.filter(pk__in=before)} == {kit.pk}
    assert {joint.target_nm for joint in new.joints.all()} == {Decimal(30)}
    assert kit.joints.get(name="left front lugs").target_nm == Decimal(80)


DAYS = timedelta(days=10)


def kit_joints():
    return kit_value()["joints"]


def kept_of(cart):
    """Return {joint: what its look and itself say} of the cart's looks."""
    looks = Look.objects.filter(fact__cart=cart).select_related("joint")
    return {
        look.joint_id: (look.name, look.found, look.target_nm, look.joint.target_nm)
        for look in looks
    }
