"""Notices that a fault's run has mailed: carts tagged, and what became of whose mail."""

import time
from datetime import UTC, datetime, timedelta

from deploy.faults import yard
from fleet.actions import reminders, tags
from fleet.models import Notice
from shared import clock

# far from the quiet hours of the place's clock, which is UTC
NOON = 12


def begin(world, *, carts, mechanics=1):
    """Make a yard at noon with nothing tagged, whose daily mails and checkpoints are out."""
    at = to_noon(world)
    place = yard.make(at, carts=carts, mechanics=mechanics, order=False, password=None)
    world.sink.start()
    reminders.sweep(at)
    return place


def to_noon(world) -> datetime:
    """Set every process's clock to noon; return the moment."""
    true = datetime.now(UTC)
    wanted = true.replace(hour=NOON, minute=0, second=0, microsecond=0)
    world.set_clock((wanted - true).total_seconds())
    return clock.now()


def turn_clock(world, by: timedelta) -> None:
    """Set every process's clock forward or back from what it is."""
    off_by = clock.now() - datetime.now(UTC) + by
    world.set_clock(off_by.total_seconds())


def tag(place, cart, at):
    """Tag a cart, of which everybody at the place is to hear at once."""
    return tags.tag_cart(cart, "brake drags", by=place.manager, at=at)


def waiting():
    return Notice.objects.filter(sent_at=None, dropped="")


def wait_for(is_so, within_s=60) -> bool:
    """Wait a while until it is so; whether it is."""
    until_s = time.monotonic() + within_s
    while not is_so() and time.monotonic() < until_s:
        time.sleep(0.1)
    return bool(is_so())
