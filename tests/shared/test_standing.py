"""Standing facts by a ready statement are those that the models' own queries find."""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from fleet.actions import meters
from fleet.actions.tags import tag_cart
from fleet.models import MeterFitted, Tag
from shared.facts import strike
from shared.models import Change
from shared.standing import columns_of, standing_facts, standing_rows
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
    rows = standing_rows(Tag, [tag.cart_id], happened_by, known_by)
    asked = Tag.objects.known(happened_by, known_by).standing(known_by)
    asked = asked.filter(cart_id=tag.cart_id)
    assert told == list(asked)
    assert rows == list(asked.values_list(*columns_of(Tag)))
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


def test_a_row_holds_what_the_model_does():
    site, manager = a_site()
    cart = a_cart(site, manager)
    meters.fit_meter(cart, "distance", "41.5", unit="mi", by=manager, at=MORNING)

    for model in (MeterFitted, Change):
        [fact], [row] = (
            read(model, [cart.pk], MORNING, MORNING) for read in (standing_facts, standing_rows)
        )
        assert row._asdict() == {name: getattr(fact, name) for name in columns_of(model)}
        assert (row.pk, row.kind(), row._meta.model) == (fact.pk, fact.kind(), model)


def test_a_row_of_few_columns_holds_these_alone(tag):
    [row] = standing_rows(Tag, [tag.cart_id], MORNING, MORNING, ("reason", "done_at"))

    assert row == ("it rubs", MORNING)


def test_no_carts_have_no_facts():
    assert standing_facts(Tag, [], MORNING, MORNING) == []
    assert standing_rows(Tag, [], MORNING, MORNING) == []
