"""Fleets of 10,000 and 100,000 carts for what must not depend on their size."""

import pytest

from deploy.bench import world


@pytest.fixture(scope="session")
def fleets(django_db_blocker):
    """A world of the two scales, on a server of its own; at 100k copies have no facts.

    Tests read it within ``with fleets.at("10k"):`` and roll back what they write.
    """
    with django_db_blocker.unblock(), world.made(["10k", "100k"], lists_only={"100k"}) as made:
        yield made
