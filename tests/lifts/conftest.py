"""A site with its manager, a kit and a cart: what most tests of lifts stand on."""

import pytest

from tests.lift_factories import a_cart, a_kit, a_site


@pytest.fixture
def place():
    return a_site()


@pytest.fixture
def site(place):
    return place[0]


@pytest.fixture
def manager(place):
    return place[1]


@pytest.fixture
def kit(site, manager):
    return a_kit(site, manager)


@pytest.fixture
def cart(site, manager):
    return a_cart(site, manager)
