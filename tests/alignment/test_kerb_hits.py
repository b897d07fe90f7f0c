from datetime import timedelta

import pytest

from alignment.kerb_hits import hit_since_last_sheet
from fleet.actions import tags
from fleet.kinds import Cut
from fleet.models import Round
from fleet.standing import EVERYTHING
from shared.facts import record, strike
from tests.alignment_factories import SheetFactory
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


class Yard:
    def __init__(self):
        self.site, self.manager = a_site()
        self.cart = a_cart(self.site, self.manager)

    def on(self, hours):
        return {"by": self.manager, "at": MORNING + hours * HOUR}

    def hit(self, hours, noticed="kerb hit", cart=None):
        return tags.report(cart or self.cart, noticed, **self.on(hours))

    def sheet(self, hours, cart=None):
        at = MORNING + hours * HOUR
        whose = {"site": self.site, "cart": cart or self.cart, "by": self.manager}
        times = {"done_at": at, "written_at": at}
        row = Round(opened_at=at, **whose, **times)
        record(row, at=at)
        return record(SheetFactory.build(round=row, **whose, **times), at=at).fact

    def since(self, hours=None):
        at = MORNING + (hours or 0) * HOUR
        return hit_since_last_sheet(self.cart, EVERYTHING if hours is None else Cut(at, at))


@pytest.fixture
def yard():
    return Yard()


def test_a_cart_that_hit_nothing_has_none(yard):
    yard.sheet(0)

    assert yard.since() is None


def test_a_hit_on_a_cart_never_measured_counts(yard):
    hit = yard.hit(1)

    assert yard.since() == hit


def test_of_the_hits_since_the_last_sheet_the_newest_is_named(yard):
    yard.hit(0)
    yard.sheet(1)
    yard.hit(2)
    last = yard.hit(3)
    yard.hit(4, noticed="noise")

    assert yard.since() == last


def test_a_sheet_after_the_hit_answers_it(yard):
    yard.hit(1)
    yard.sheet(2)

    assert yard.since() is None


def test_what_was_struck_counts_for_nothing(yard):
    struck_hit, hit = yard.hit(1), yard.hit(0)
    sheet = yard.sheet(2)
    reason = {"reason": "Another cart", **yard.on(3)}
    strike(struck_hit, **reason)
    strike(sheet, **reason)

    assert yard.since() == hit


def test_another_carts_hits_and_sheets_are_its_own(yard):
    other = a_cart(yard.site, yard.manager, number="8")
    yard.hit(1, cart=other)

    assert yard.since() is None

    hit = yard.hit(1)
    yard.sheet(2, cart=other)

    assert yard.since() == hit


def test_a_question_of_the_past_knows_what_was_known(yard):
    hit = yard.hit(1)
    yard.sheet(3)

    assert [yard.since(hours) for hours in (0.5, 2, 3)] == [None, hit, None]


@pytest.mark.parametrize("hits", [1, 3])
def test_it_costs_two_queries_however_many_hits(yard, hits, django_assert_num_queries):
    yard.sheet(0)
    told = [yard.hit(hours) for hours in range(1, hits + 1)]

    with django_assert_num_queries(2):
        found = yard.since()

    assert found == told[-1]
