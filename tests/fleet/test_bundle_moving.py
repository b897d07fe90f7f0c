"""How far a stopped cart ran, told in the units that its site had then."""

from copy import copy
from decimal import Decimal

import pytest

from fleet.actions.meters import add_reading
from fleet.actions.sites import change_site
from tests.fleet.bundle_tables import tables_of
from tests.fleet.bundling import Fleet, on
from tests.fleet.test_bundle_figures import stopped_by_order

pytestmark = pytest.mark.django_db


def test_how_far_a_stopped_cart_ran_stays_when_the_site_changes_its_units():
    fleet = Fleet("harbour")
    cart = fleet.cart("7")
    who = {"by": fleet.mechanic}
    stopped_by_order(fleet, cart)
    add_reading(cart, distance=Decimal(100), at=on(3, 3), **who)
    add_reading(cart, distance=Decimal(110), at=on(3, 10), **who)
    before = tables_of(fleet.site, on(3, 12)).row("stopped_moving")

    change_site(copy(fleet.site), {"units": "metric"}, by=fleet.manager, at=on(3, 20))

    assert before["more_km"] == "16.09344"
    assert tables_of(fleet.site, on(3, 12)).row("stopped_moving") == before
