"""The test drive: what it closes, what holds it and what it tags."""

from decimal import Decimal

import pytest

from fleet.kinds import Hold
from lifts.models import DriveCheck
from lifts.parts.drive import Drive, DriveForm
from tests.factories import MORNING
from tests.lifts.visiting import a_visit

FINE = dict.fromkeys(("clear_at_lock", "clear_at_bump", "runs_straight", "is_quiet"), True)
SAID = dict.fromkeys(("drive-clear_at_lock", "drive-clear_at_bump"), "yes") | dict.fromkeys(
    ("drive-runs_straight", "drive-is_quiet"), "yes"
)


def test_a_drive_with_nothing_wrong_is_done():
    found = Drive().outcome(DriveCheck(**FINE), [])

    assert (found.closing, found.holds, found.tag) == ({"drive"}, (), "")


@pytest.mark.parametrize(
    ("wrong", "reason", "tags"),
    [
        ("clear_at_lock", "A tyre rubs at full lock", True),
        ("clear_at_bump", "A tyre rubs at full bump", True),
        ("runs_straight", "Does not run straight", False),
        ("is_quiet", "Knocks or shakes on the drive", False),
    ],
)
def test_what_is_wrong_on_a_drive_holds_it_and_a_rub_tags(wrong, reason, tags):
    fact = DriveCheck(**FINE | {wrong: False})

    found = Drive().outcome(fact, [])

    assert (found.closing, found.holds) == (frozenset(), (Hold("drive", reason),))
    assert (found.tag, found.is_critical) == (reason if tags else "", False)
    assert list(Drive().said(fact, [])) == [("drive", reason, "")]


def test_two_rubs_are_one_tag_with_both_reasons():
    fact = DriveCheck(**FINE | {"clear_at_lock": False, "clear_at_bump": False})

    assert Drive().outcome(fact, []).tag == "A tyre rubs at full lock; A tyre rubs at full bump"


def test_a_correction_that_turns_a_rub_to_none_is_graded_better():
    rubs, clear = DriveCheck(**FINE | {"clear_at_lock": False}), DriveCheck(**FINE)
    verdicts = [Drive().verdicts(fact, [])["clear at full lock"] for fact in (rubs, clear)]

    assert [Drive.grades[one] for one in verdicts] == [1, 0]


@pytest.mark.django_db
def test_the_distance_is_kept_as_typed_and_in_metres(cart):
    form = DriveForm(a_visit(cart, MORNING), SAID | {"drive-driven": "1.5 mi"}, prefix="drive")
    assert form.is_valid(), form.errors

    values, lines = Drive().read(form)

    # 1.5 x 1609.344 m
    assert (values["driven_typed"], str(values["driven_m"])) == ("1.5 mi", "2414.016")
    assert lines == []


def test_a_distance_typed_bare_is_told_with_its_unit():
    fact = DriveCheck(**FINE, driven_typed="1.5", driven_m=Decimal("2414.016"))

    assert list(Drive().said(fact, [])) == [("drive", "no rub, straight, quiet", "1.5 mi")]


@pytest.mark.django_db
def test_each_answer_of_a_drive_is_asked_for(cart):
    form = DriveForm(a_visit(cart, MORNING), {}, prefix="drive")

    assert sorted(form.errors) == sorted(FINE)
