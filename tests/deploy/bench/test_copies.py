"""The benchmark's fleets are what the tool itself would have made of their facts."""

import pytest

from fleet.actions import project
from fleet.models import Cart, Recheck

pytestmark = pytest.mark.services


@pytest.mark.parametrize("scale", ["small", "large"])
def test_scale_holds_its_carts(fleets, scale):
    with fleets.at(scale):
        # the pattern site itself is one more
        assert Cart.objects.count() == (fleets.copies[scale] + 1) * fleets.each
        assert len(fleets.sites()) == 10


def test_rows_of_copies_are_those_that_their_facts_project(fleets):
    with fleets.at("small"):
        site = fleets.sites()[3]
        ids = list(fleets.carts(site).values_list("pk", flat=True)[:40])

        assert project.differences(ids) == []
        assert Recheck.objects.filter(cart__in=ids).count() > 200
