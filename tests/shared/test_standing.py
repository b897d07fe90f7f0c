"""Standing facts by a ready statement are those that the models' own queries find."""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from fleet.actions.tags import tag_cart
from fleet.models import Tag
from shared.facts import strike
from shared.standing import standing_facts
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site

pytestmark = [pytest.mark.django_db, pytest.mark.both]
HOUR, ZONES = timedelta(hours=1), ["UTC", "America/New_York", "Asia/Kolkata"]


@pytest.fixture
def tag():
    site, manager = a_site()
    return tag_cart(a_cart(site, manager), "it rubs", by=manager, at=MORNING)


def found(tag, happened_by, known_by):
    told = standing_facts(Tag, [tag.cart_id], happened_by, known_by)
    asked = Tag.objects.known(happened_by, known_by).standing(known_by)
    assert told == list(asked.filter(cart_id=tag.cart_id))
    return told


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize(("hours", "is_there"), [(-1, False), (0, True), (1, True)])
def test_a_moment_is_the_same_in_whatever_zone_it_is_told(tag, zone, hours, is_there):
    moment = (MORNING + hours * HOUR).astimezone(ZoneInfo(zone))

    assert found(tag, moment, MORNING + HOUR) == [tag] * is_there
    assert found(tag, MORNING + HOUR, moment) == [tag] * is_there


@pytest.mark.parametrize("zone", ZONES)
def test_what_was_taken_back_stands_until_it_was(tag, zone):
    later = (MORNING + HOUR).astimezone(ZoneInfo(zone))
    strike(tag, reason="the wrong cart", by=tag.by, at=MORNING + HOUR)

    assert found(tag, MORNING, later - timedelta(seconds=1)) == [tag]
    assert found(tag, MORNING, later) == []


def test_no_carts_have_no_facts():
    assert standing_facts(Tag, [], MORNING, MORNING) == []
