"""A round told again goes by the kit that it was done by, whatever is on the cart since."""

import pytest

from fleet.actions.corrections import correct_round
from fleet.actions.rounds import TakenDown, save_round
from fleet.kinds import register
from lifts.actions import fit, remove_lift, replace_kit
from lifts.kit_lines import read_joints, read_points
from lifts.models import Look
from shared.models import new_id
from tests.lift_factories import a_kit, kit_value
from tests.lifts.test_joint_answers import HOUR, JOINT_LINES, NOW, Shed
from tests.lifts.visiting import a_visit, answers

pytestmark = pytest.mark.django_db
LATER = NOW + 2 * HOUR
DAY = 24 * HOUR


@pytest.fixture
def shed():
    return Shed()


def told_again(shed, row):
    """Tell a round's joints again, all firm, and return the looks that stand then."""
    sent = answers(shed.form(at=LATER, corrects=row.pk), "joints")
    sent["joints-wrenches"] = [str(shed.big.pk)]
    form = shed.form(sent, at=LATER, corrects=row.pk)
    assert form.is_valid(), form.errors
    again = TakenDown(
        id=new_id(),
        opened_at=LATER,
        corrects=row.pk,
        why_corrected="a slip",
        parts=[(register.parts["joints"], form)],
    )
    saved = correct_round(row, again, by=shed.mechanic, at=LATER)
    return {look.name: look for look in Look.objects.filter(fact__round=saved.round)}


def joints(old="", new=""):
    return read_joints(JOINT_LINES.replace(old, new), "N.m")


def test_a_new_edition_does_not_change_the_targets_of_a_round_told_again(shed):
    row = shed.saved(shed.big).round
    edition = kit_value(edition="edition 2", joints=joints("80 N.m", "90 N.m"))
    replace_kit(shed.fitting.kit, edition, by=shed.manager, at=NOW + HOUR)

    assert told_again(shed, row)["lugs"].target_nm == 80
    assert shed.looks(shed.big, at=LATER)["lugs"].target_nm == 90


def test_another_lift_since_does_not_change_the_joints_nor_the_bearing(shed):
    row = shed.saved(shed.big, hub_nut={"bearing": "sealed"}).round
    other = a_kit(shed.site, shed.manager, code="other", joints=joints("frame |", "bumper |"))
    fit(shed.cart, other, by=shed.manager, at=NOW + HOUR)
    shed.saved(shed.big, at=NOW + 1.5 * HOUR, hub_nut={"bearing": "taper"})

    looks = told_again(shed, row)

    assert "frame" in looks and "bumper" not in looks
    assert looks["hub nut"].hub_bearing == "sealed"


def test_a_bearing_told_in_the_round_itself_is_not_lost_with_a_later_round(shed):
    row = shed.saved(shed.big, hub_nut={"bearing": "sealed"}).round
    shed.saved(shed.big, at=NOW + HOUR)

    assert told_again(shed, row)["hub nut"].lacks is None


def test_a_new_edition_does_not_change_the_grease_points_of_a_round_told_again(shed):
    row = shed.saved(shed.big).round
    edition = kit_value(edition="edition 2", joints=joints(), points=read_points("point\naxle"))
    replace_kit(shed.fitting.kit, edition, by=shed.manager, at=NOW + HOUR)

    def points(**visit):
        form = register.parts["grease"].form(a_visit(shed.cart, LATER, **visit))
        return {point.name for point in form.points}

    assert "axle" in points()
    assert points() & points(corrects=row.pk) == set()
    assert points(corrects=row.pk)


def test_a_round_before_a_removal_was_told_is_told_again_with_the_lifts_joints(shed):
    taken = TakenDown(id=new_id(), opened_at=NOW, parts=[])
    row = save_round(shed.cart, taken, by=shed.mechanic, at=NOW).round
    told_at = NOW + 9 * DAY
    remove_lift(shed.fitting, "sold", by=shed.manager, at=told_at, done_at=NOW - HOUR)

    again = shed.form(at=told_at + HOUR, corrects=row.pk)

    assert {"lugs", "U-bolts"} <= {joint.name for joint in again.joints}
