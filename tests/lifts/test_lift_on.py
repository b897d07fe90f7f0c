"""Which lift is on a cart: the rounds' pages say it as the cart's chapters do."""

from datetime import timedelta
from uuid import UUID

import pytest

from fleet.fitted import chapters_of
from fleet.kinds import Cut
from lifts.actions import correct_fitting, fit, remove_lift
from lifts.lift_on import bare_since, lift_on
from shared.clock import noon_of
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


def is_on(cart, at=MORNING + 9 * DAY):
    on = lift_on(cart, Cut.known_now(at))
    return on and on.pk


def by_chapters(cart, at=MORNING + 9 * DAY):
    zone = cart.site.zone
    lasting = [
        one for one in chapters_of(cart) if one.earliest(zone) <= at and not one.is_off_at(at)
    ]
    return lasting[-1].fitting_id if lasting else None


@pytest.mark.parametrize("key", [EARLIER, LATER])
def test_a_lift_put_on_as_another_came_off_is_on(cart, kit, manager, key):
    before = fit(cart, kit, by=manager, at=MORNING)
    remove_lift(before, "another kit", by=manager, at=MORNING + DAY, done_at=MORNING + DAY)

    fit(cart, kit, by=manager, at=MORNING + DAY, done_at=MORNING + DAY, id=key)

    assert is_on(cart) == by_chapters(cart) == key


@pytest.mark.parametrize(("told_after", "off_from"), [(7, 3), (9, 12)])
def test_a_removal_told_too_late_acts_from_when_it_was_told(
    cart, kit, manager, told_after, off_from
):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    off_at = MORNING + 3 * DAY
    remove_lift(fitting, "sold", by=manager, at=off_at + told_after * DAY, done_at=off_at)

    days = [MORNING + day * DAY for day in range(15)]
    ons = [is_on(cart, day) for day in days]
    assert ons == [by_chapters(cart, day) for day in days]
    assert ons == [fitting.pk] * off_from + [None] * (15 - off_from)


def test_a_cart_is_bare_since_its_last_lift_came_off(cart, kit, manager):
    first = fit(cart, kit, by=manager, at=MORNING)
    last = fit(cart, kit, by=manager, at=MORNING + 5 * DAY)
    remove_lift(last, "sold", by=manager, at=MORNING + 6 * DAY)
    told_late = {"at": MORNING + 20 * DAY, "done_at": MORNING + 3 * DAY}
    remove_lift(first, "had come off before", by=manager, **told_late)

    assert bare_since(cart, Cut.known_now(MORNING + 30 * DAY)) == MORNING + 6 * DAY


def test_a_lift_of_which_the_day_alone_is_known_was_on_all_of_it(cart, kit, manager):
    noon = noon_of(cart.site.day(MORNING) + DAY, cart.site.zone)
    fitting = fit(cart, kit, by=manager, at=MORNING + 3 * DAY, done_at=noon, day_only=True)

    hours = [noon - timedelta(hours=hour) for hour in (13, 11, 0)]
    assert [is_on(cart, at) for at in hours] == [None, fitting.pk, fitting.pk]
    assert [by_chapters(cart, at) for at in hours] == [None, fitting.pk, fitting.pk]


def test_a_lift_taken_off_stays_off_when_its_fitting_is_told_again(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    remove_lift(fitting, "wrong cart", by=manager, at=MORNING + DAY, done_at=MORNING)

    again = {"reason": "a slip of the pen", "by": manager, "at": MORNING + 2 * DAY}
    correct_fitting(fitting, kit, (), **again)

    assert (is_on(cart), by_chapters(cart)) == (None, None)
