"""Which lift is on a cart: the rounds' pages say it as the cart's chapters do."""

from datetime import timedelta
from uuid import UUID

import pytest

from fleet.fitted import chapters_of
from fleet.kinds import Cut
from lifts.actions import correct_fitting, fit, remove_lift
from lifts.lift_on import lift_on
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site

pytestmark = [pytest.mark.django_db, pytest.mark.both]
DAY = timedelta(days=1)
# as pages opened before or after the removal's give them
EARLIER, LATER = UUID(int=1), UUID(int=2**128 - 1)


@pytest.fixture
def manager(here):
    return here[1]


@pytest.fixture
def here():
    return a_site()


@pytest.fixture
def kit(here):
    return a_kit(*here)


@pytest.fixture
def cart(here):
    return a_cart(*here)


def is_on(cart):
    on = lift_on(cart.pk, Cut.known_now(MORNING + 9 * DAY))
    return on and on.pk


def by_chapters(cart):
    found = [one.fitting_id for one in chapters_of(cart) if one.until_at is None]
    return found[0] if found else None


@pytest.mark.parametrize("key", [EARLIER, LATER])
def test_a_lift_put_on_as_another_came_off_is_on(cart, kit, manager, key):
    before = fit(cart, kit, by=manager, at=MORNING)
    remove_lift(before, "another kit", by=manager, at=MORNING + DAY, done_at=MORNING + DAY)

    fit(cart, kit, by=manager, at=MORNING + DAY, done_at=MORNING + DAY, id=key)

    assert is_on(cart) == by_chapters(cart) == key


def test_a_lift_taken_off_stays_off_when_its_fitting_is_told_again(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    remove_lift(fitting, "wrong cart", by=manager, at=MORNING + DAY, done_at=MORNING)

    again = {"reason": "a slip of the pen", "by": manager, "at": MORNING + 2 * DAY}
    correct_fitting(fitting, kit, (), **again)

    assert (is_on(cart), by_chapters(cart)) == (None, None)
