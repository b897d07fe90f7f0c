"""Rounds told again so that they do more, or on a later day: no way round the countersign."""

from datetime import timedelta

import pytest

from fleet.actions.corrections import correct_round
from fleet.actions.rounds import TakenDown, save_round
from fleet.kinds import Cut
from fleet.models import Recheck, WaitingRound
from fleet.round_result import result_of
from fleet.timeline import entries_within, items_of
from shared.models import new_id
from tests.fleet.bundle_tables import tables_of
from tests.fleet.test_countersigns import DAY, Yard
from tests.round_factories import EVERY_PART, told

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


@pytest.fixture
def yard():
    return Yard()


def told_again(yard, row, days, *, done_at=None, found=None, parts=EVERY_PART):
    """Correct a round so many days after it was done; all is well but what was ``found``."""
    at = yard.done_at + DAY * days
    again = [(told(code, yard.cart, found=found or {}), None) for code in parts]
    visit = TakenDown(new_id(), opened_at=at, done_at=done_at, parts=again, corrects=row.pk)
    visit.why_corrected = "a slip"
    return correct_round(row, visit, by=yard.mechanic, at=at).round


def waiting():
    return list(WaitingRound.objects.values_list("pk", flat=True))


def test_a_round_put_on_a_later_day_is_first_told_of_then(yard):
    row = yard.told(0)

    late = told_again(yard, row, 60, done_at=yard.done_at + 40 * DAY)

    assert waiting() == [late.pk]
    assert yard.close_out().ended == ""
    result = result_of(late, yard.done_at + 60 * DAY)
    assert (result.days_late, result.waits_whole, result.written_late) == (20, True, True)


def test_the_timeline_marks_a_round_put_on_a_later_day_as_late(yard):
    row = yard.told(0)
    late = told_again(yard, row, 60, done_at=yard.done_at + 40 * DAY)
    cut = Cut(late.received_at, late.received_at)

    items = items_of(list(entries_within(yard.cart, cut, {yard.site.pk})), yard.cart, cut)

    marked = {one.fact_id: one.is_written_late for one in items if one.is_round}
    assert marked == {f"{late.pk}": True, f"{row.pk}": False}


def test_a_round_put_a_few_minutes_later_is_not(yard):
    row = yard.told(0)

    told_again(yard, row, 60, done_at=yard.done_at + 4 * MINUTE)

    assert waiting() == []
    assert yard.close_out().ended == "closed"


def test_a_joint_not_reached_and_firm_in_a_late_correction_waits(yard):
    row = yard.told(0, found={"left front lugs": "not reached"})

    late = told_again(yard, row, 8)

    assert waiting() == [late.pk]
    assert yard.close_out().ended == ""


def test_a_part_that_held_and_closes_in_a_late_correction_waits(yard):
    bad = (told("label", yard.cart, is_legible=False), None)
    visit = TakenDown(new_id(), opened_at=yard.done_at, parts=[bad])
    row = save_round(yard.cart, visit, by=yard.mechanic, at=yard.done_at).round

    late = told_again(yard, row, 8, parts=("label",))

    assert waiting() == [late.pk]


def test_what_an_early_correction_added_counts_in_a_later_one_too(yard):
    row = yard.told(0, found={"left front lugs": "not reached"})
    early = told_again(yard, row, 6)

    told_again(yard, early, 30)

    assert waiting() == []
    assert yard.close_out().ended == "closed"


def test_a_late_correction_that_does_less_leaves_the_rest_counting(yard):
    row = yard.told(0)

    told_again(yard, row, 30, found={"left front lugs": "not reached"})

    assert waiting() == []
    looks = Recheck.objects.filter(kind_code="joint-look", ended="")
    assert [one.subject for one in looks] == ["left front lugs"]


def test_work_added_late_is_in_the_bundle_among_the_late_written(yard):
    row = yard.told(0, parts=("label",))
    again = told_again(yard, row, 9)

    tables = tables_of(yard.site, yard.done_at + 10 * DAY)

    (found,) = tables.rows("late_written")
    assert (found["entry"], found["days_late"]) == (str(again.pk), "9")
    assert found["countersign"] == "waits for a countersign"
    assert [one["written_late"] for one in tables.rows("rounds")] == ["yes"]
