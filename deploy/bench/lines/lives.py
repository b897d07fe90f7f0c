"""Pages of a cart with ten years behind it, and saving at it, against one with a month."""

from datetime import timedelta

from django.db import transaction
from django.urls import reverse

from deploy.bench.listed import lines
from deploy.bench.lived import a_month, ten_years
from deploy.bench.pages import Page
from deploy.bench.pairs import Pair
from fleet.actions import meters

REQUESTS = 6
SAVED = 6


@lines("lives")
def lives(world):
    mechanic = world.mechanic(world.sites()[0])
    with transaction.atomic():
        young, old = a_month(world), ten_years(world)
        for name, view in (("cart-page", "cart-detail"), ("round-page", "round-create")):
            about = "of a cart with ten years of facts, against one with a month"
            asked = [Page(mechanic, reverse(view, args=[c.site.slug, c.pk])) for c in (young, old)]
            yield Pair(name, about, 1.5, *(_often(page.get, REQUESTS) for page in asked))
        yield Pair(
            "reading-of-ten-years",
            "a reading saved at that cart, its work dated anew, against the other",
            8,
            *(_often(_reading(cart, mechanic, world.at_moment), SAVED) for cart in (young, old)),
        )
        transaction.set_rollback(True)


def _reading(cart, by, at):
    def save():
        with transaction.atomic():
            done_at = at - timedelta(minutes=1)
            meters.add_reading(cart, by=by, at=at, done_at=done_at, hours=cart.hours_shown + 1)
            transaction.set_rollback(True)

    return save


def _often(act, times):
    def acts():
        for _ in range(times):
            act()

    return acts
