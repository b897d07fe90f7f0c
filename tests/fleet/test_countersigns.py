"""Rounds written more than a week after they were done, and what lets them count."""

from datetime import timedelta

import pytest

from fleet.actions import project
from fleet.actions.corrections import move_round
from fleet.actions.countersigns import NotManager, NotWaiting, countersign_round
from fleet.gather import ground_of
from fleet.kinds import Cut
from fleet.models import Cart, Countersign, Recheck, WaitingRound
from fleet.projection import projected
from fleet.standing import FOREVER, facts_of
from lifts.actions import fit
from shared.facts import correction_of, record, strike
from shared.models import Role
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
CLOSE_OUT = "fitting-close-out"


class Yard:
    def __init__(self):
        self.site, self.manager = a_site()
        self.mechanic = with_role(self.site, self.manager, Role.MECHANIC)
        self.kit = a_kit(self.site, self.manager)
        self.cart = self.lifted("7")
        self.done_at = MORNING + DAY

    def lifted(self, number):
        cart = a_cart(self.site, self.manager, number)
        fit(cart, self.kit, by=self.manager, at=MORNING)
        return Cart.objects.get(pk=cart.pk)

    def told(self, days, **more):
        """Record a round that was done a day after the fitting, so many days later."""
        at = self.done_at + DAY * days
        who = {"by": self.mechanic, "at": at, "opened_at": self.done_at}
        return a_round(self.cart, done_at=self.done_at, **who, **more).round

    def signed(self, row, days=20, by=None, reason="Seen the paper sheet"):
        at = self.done_at + DAY * days
        return countersign_round(row, reason=reason, by=by or self.manager, at=at)

    def close_out(self, cart=None):
        return Recheck.objects.get(cart=cart or self.cart, kind_code=CLOSE_OUT)


@pytest.fixture
def yard():
    return Yard()


def closed_as_known(yard, days):
    """Return how the close-out stood, as known so many days after the round was done."""
    cut = Cut(FOREVER, yard.done_at + DAY * days)
    facts = facts_of([yard.cart.pk], cut)[yard.cart.pk]
    rows = projected(facts, ground_of([facts], cut)).rechecks
    return [(one.ended, one.ended_at) for one in rows if one.kind_code == CLOSE_OUT]


def test_a_round_told_within_the_week_closes_and_one_told_later_waits(yard):
    yard.told(7)
    assert (yard.close_out().ended, WaitingRound.objects.count()) == ("closed", 0)


def test_a_round_told_after_a_week_closes_nothing_and_is_kept(yard):
    row = yard.told(7.01)

    assert yard.close_out().ended == ""
    assert list(WaitingRound.objects.values_list("pk", "cart_id")) == [(row.pk, yard.cart.pk)]


def test_countersigned_it_closes_as_of_when_it_was_done(yard):
    row = yard.told(8)

    yard.signed(row, 20)

    found = yard.close_out()
    assert (found.ended, found.ended_by, found.ended_at) == ("closed", row.pk, yard.done_at)
    assert not WaitingRound.objects.exists()
    assert project.differences([yard.cart.pk]) == []


def test_what_it_closed_is_known_from_the_countersign_on(yard):
    row = yard.told(8)
    yard.signed(row, 20)

    assert closed_as_known(yard, 19.9) == [("", None)]
    assert closed_as_known(yard, 20) == [("closed", yard.done_at)]


def test_a_day_before_the_countersign_shows_it_closed_once_it_is_known(yard):
    row = yard.told(8)
    yard.signed(row, 20)

    cut = Cut(yard.done_at + DAY, FOREVER)
    facts = facts_of([yard.cart.pk], cut)[yard.cart.pk]
    rows = projected(facts, ground_of([facts], cut)).rechecks

    assert [one.ended for one in rows if one.kind_code == CLOSE_OUT] == ["closed"]


def test_a_bad_finding_waits_for_no_countersign(yard):
    yard.told(30, found={"left front lugs": "slack", "left U-bolts": "took up"})

    started = set(Recheck.objects.filter(ended="").values_list("rule_code", flat=True))
    assert Cart.objects.get(pk=yard.cart.pk).is_tagged
    assert any("took-up" in code for code in started), started
    assert yard.close_out().ended == ""


def test_a_struck_countersign_lets_the_round_wait_again_until_the_next(yard):
    row = yard.told(8)
    strike(yard.signed(row, 20), reason="never saw it", by=yard.manager, at=yard.done_at + 21 * DAY)
    project.carts([yard.cart.pk])

    assert yard.close_out().ended == ""
    yard.signed(row, 22)
    assert yard.close_out().ended == "closed"


def test_a_countersign_sent_twice_is_one(yard):
    row = yard.told(8)

    assert yard.signed(row) == yard.signed(row)
    assert Countersign.objects.count() == 1


def test_nothing_is_countersigned_that_does_not_wait(yard):
    row = yard.told(1)

    with pytest.raises(NotWaiting):
        yard.signed(row)


def test_a_mechanic_does_not_countersign(yard):
    row = yard.told(8)

    with pytest.raises(NotManager):
        yard.signed(row, by=yard.mechanic)
    assert not Countersign.objects.exists()


def test_moved_to_another_cart_an_honest_round_is_not_late(yard):
    other = yard.lifted("8")
    row = yard.told(1)

    who = {"reason": "wrong cart", "by": yard.manager, "at": yard.done_at + 40 * DAY}
    move_round(row, other, **who)

    assert yard.close_out().ended == ""
    assert yard.close_out(other).ended == "closed"


def test_moved_after_its_countersign_it_waits_for_another(yard):
    other = yard.lifted("8")
    row = yard.told(8)
    yard.signed(row, 20)

    who = {"reason": "wrong cart", "by": yard.manager, "at": yard.done_at + 40 * DAY}
    moved = move_round(row, other, **who)

    assert list(WaitingRound.objects.values_list("pk", flat=True)) == [moved.pk]
    assert yard.close_out(other).ended == ""


def test_put_back_in_time_by_a_correction_a_round_is_late(yard):
    yard.done_at = MORNING + 20 * DAY
    row = yard.told(0)
    facts = facts_of([yard.cart.pk])[yard.cart.pk]
    at = yard.done_at + DAY
    again = correction_of(row, reason="typed", by=yard.manager, done_at=MORNING + DAY)
    record(again, at=at)
    for fact, _outcome in facts.parts[row.pk]:
        record_again(fact, again, yard.manager, at)
    project.carts([yard.cart.pk])

    assert list(WaitingRound.objects.values_list("pk", flat=True)) == [again.pk]


def record_again(fact, row, by, at):
    values = {"done_at": row.done_at, "round_id": row.pk}
    record(correction_of(fact, reason="typed", by=by, **values), at=at)


def test_a_countersign_is_of_one_round_alone(yard):
    row, other = yard.told(8), yard.told(9, note="Another sheet")

    yard.signed(row, 20)

    assert list(WaitingRound.objects.values_list("pk", flat=True)) == [other.pk]
    assert yard.close_out().ended_by == row.pk
