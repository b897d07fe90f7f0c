"""When the demo's story is told for its tests, and how they find its carts."""

from datetime import UTC, datetime

from fleet.kinds import Cut
from fleet.models import Cart
from shared.models import Site

TOLD_AT = datetime(2026, 6, 17, 15, 0, tzinfo=UTC)
CUT = Cut(TOLD_AT, TOLD_AT)


def resort():
    return Site.objects.get(slug="brindlewick")


def cart(number):
    return Cart.objects.in_fleet().get(site=resort(), number=number)
