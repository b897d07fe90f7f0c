"""A site in New York with its people, a cart, and the same cart stopped."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from fleet.actions.meters import add_reading
from fleet.actions.register import join_cart
from fleet.actions.sites import add_person, found_site, give_role
from fleet.actions.tags import order_recheck
from shared.models import Person, Role

START = datetime(2026, 3, 1, 15, 0, tzinfo=UTC)


@pytest.fixture
def people():
    manager = Person(email="manager@example.org", name="Mo")
    values = {"slug": "heron", "name": "Heron", "zone": "America/New_York", "digest_hour": 23}
    site = found_site(values, manager, at=START)
    found = {Role.MANAGER: manager}
    for role in (Role.MECHANIC, Role.DESK, Role.SURVEYOR):
        found[role] = add_person(f"{role}@example.org", str(role), site)
        give_role(site, found[role], role, site.day(START), None, by=manager, at=START)
    return found


@pytest.fixture
def site(people):
    return people[Role.MANAGER].home_site


@pytest.fixture
def cart(site, people):
    return join_cart(site, {"number": "042"}, by=people[Role.MANAGER], at=START)


@pytest.fixture
def stopped(cart, people):
    """The cart, read at 100.0 h, stopped from 3 March on."""
    by = people[Role.MANAGER]
    add_reading(cart, by=by, at=START, hours=Decimal(100))
    order_recheck(
        cart, "brake-check", date(2026, 3, 2), reason="pulls", by=by, at=START, stops=True
    )
    assert cart.rechecks.get().stops_on == date(2026, 3, 3)
    return cart
