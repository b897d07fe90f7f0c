"""Mails that the tool comes to owe at once, and what of them came to the mail server."""

import time
from collections import defaultdict
from itertools import product

from deploy.faults import yard
from deploy.faults.world import World
from fleet.actions import tags
from fleet.models import Notice
from shared import clock

SUBJECT = "Tagged: cart {number} at {site}"


class Owing:
    """A yard whose carts are tagged one after another: each calls for a mail to all its people.

    Each cart is tagged once, so that a mail is told by its address and subject alone,
    whatever its Message-ID.
    """

    def __init__(self, world: World, *, carts: int, people: int):
        self.world = world
        self.yard = yard.make(clock.now(), carts=carts, mechanics=people - 1, order=False)
        self.waiting = list(self.yard.carts)
        self.owed_at: dict[str, float] = {}

    def tag(self, carts: int = 1) -> None:
        for cart in (self.waiting.pop() for _ in range(carts)):
            tags.tag_cart(cart, "the left wheel rubs", by=self.yard.manager, at=clock.now())
            self.take_down(cart)

    def take_down(self, cart) -> None:
        """Remember that the mails of this cart's tag are owed from now on."""
        subject = SUBJECT.format(number=cart.number, site=self.yard.site.name)
        self.owed_at[subject] = time.time()

    @property
    def wanted(self) -> set[tuple[str, str]]:
        """Return (address, subject) of every mail that is owed."""
        return set(product((person.email for person in self.yard.people), self.owed_at))

    def came(self) -> dict[tuple[str, str], list[dict]]:
        """Return what the mail server took, by address and subject; daily mails by their id."""
        found = defaultdict(list)
        for mail in self.world.sink.taken():
            is_of_tag = mail["subject"].startswith("Tagged")
            found[mail["to"][0], mail["subject"] if is_of_tag else mail["id"]].append(mail)
        return found

    def is_settled(self) -> bool:
        """Whether each notice owed by now is there and has ended, sent or given up."""
        ended = Notice.objects.filter(stage=Notice.Stage.TAGGED).exclude(sent_at=None, dropped="")
        return ended.count() >= len(self.wanted)

    def lost(self) -> int:
        return len(self.wanted - set(self.came()))

    def twice(self) -> list[list[dict]]:
        """Return the mails that came more than once, each with all its comings."""
        return [mails for mails in self.came().values() if len(mails) > 1]

    def worst_delay_s(self) -> float:
        """Return the longest time from a tag to its first mail's coming, 0 without any."""
        came = self.came()
        owed = self.wanted & set(came)
        return max((came[key][0]["at"] - self.owed_at[key[1]] for key in owed), default=0)


def rows_twice() -> int:
    """Return how many notices are there more than once for one thing, stage and person."""
    keys = list(Notice.objects.values_list("about", "stage", "person"))
    return len(keys) - len(set(keys))
