"""Fleets of 3,000 and 30,000 carts for what must not depend on their size."""

import pytest

from deploy.bench import world

SITES = {"small": 10, "large": 100}
CARTS = 300


@pytest.fixture(scope="session")
def fleets(django_db_blocker):
    """A world of the two, on a server of its own; in the large one copies have no facts.

    Tests read it within ``with fleets.at("small"):`` and roll back what they write.
    """
    with django_db_blocker.unblock(), world.made(SITES, carts=CARTS, lists_only={"large"}) as made:
        yield made
