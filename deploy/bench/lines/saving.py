"""One fact saved and its cart's work dated anew: a large fleet against a small one."""

from datetime import timedelta

from django.db import transaction

from deploy.bench.lines.rounds import Saving
from deploy.bench.listed import growth
from deploy.bench.pairs import Pair
from fleet.actions import meters

READINGS = 40
ROUNDS = 10


@growth("saving")
def saving(world, small, large):
    for name, about, make, times in (
        ("reading-saved", "a reading saved, its rechecks dated anew", _Reading, READINGS),
        ("round-projected", "a round saved, its rechecks dated anew", Saving, ROUNDS),
    ):
        acts = [_at(world, scale, make, times) for scale in (small, large)]
        yield Pair(name, f"{about}: {large} against {small} carts", 1.2, *acts)


def _at(world, scale, make, times):
    with world.at(scale):
        made = make(world)

    def acts():
        with world.at(scale):
            for _ in range(times):
                made.once()

    return acts


class _Reading:
    """Saves a reading at one cart, each time taken back at once."""

    def __init__(self, world):
        site = world.sites()[0]
        self.cart, self.by, self.at = world.carts(site)[7], world.mechanic(site), world.at_moment

    def once(self):
        with transaction.atomic():
            said = {"hours": self.cart.hours_shown + 1, "done_at": self.at - timedelta(minutes=1)}
            meters.add_reading(self.cart, by=self.by, at=self.at, **said)
            transaction.set_rollback(True)
