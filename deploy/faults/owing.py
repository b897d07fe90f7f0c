"""Mails that the tool comes to owe at once, and what of them came to the mail server."""

import time
from collections import defaultdict
from itertools import product

from deploy.faults import yard
from deploy.faults.world import World
from fleet.actions import tags
from fleet.actions.claims import WAITING
from fleet.models import CheckpointMail, Digest, Notice, ReminderChoice
from shared import clock

# how the Message-ID of a mail about tags begins, of one or of several
TOLD_AT_ONCE = ("<tagged.", "<together.")


class Owing:
    """A yard whose carts are tagged one after another: each calls for a mail to all its people.

    Each cart is tagged once, and a mail is told by its address and the carts it links to alone,
    whatever its Message-ID: so one may tell of a single tag, or of all that waited.
    """

    def __init__(self, world: World, *, carts: int, people: int):
        self.world = world
        self.yard = yard.make(clock.now(), carts=carts, mechanics=people - 1, order=False)
        # by night, too, they are mailed at once
        choices = (
            ReminderChoice(person=one, quiet_until=0, quiet_from=0) for one in self.yard.people
        )
        ReminderChoice.objects.bulk_create(choices)
        self.waiting = list(self.yard.carts)
        self.owed_at: dict[str, float] = {}

    def tag(self, carts: int = 1) -> None:
        for cart in (self.waiting.pop() for _ in range(carts)):
            tags.tag_cart(cart, "the left wheel rubs", by=self.yard.manager, at=clock.now())
            self.take_down(cart)

    def take_down(self, cart) -> None:
        """Remember that the mails of this cart's tag are owed from now on."""
        self.owed_at[str(cart.pk)] = time.time()

    @property
    def wanted(self) -> set[tuple[str, str]]:
        """Return (address, cart) of all that somebody is owed to be told."""
        return set(product((person.email for person in self.yard.people), self.owed_at))

    def came(self) -> dict[tuple[str, str], list[dict]]:
        """Return the mails that the server took, by address and cart; others by their id."""
        found = defaultdict(list)
        for mail in self.world.sink.taken():
            for key in _told_by(mail):
                found[key].append(mail)
        return found

    def is_settled(self) -> bool:
        """Whether each tag's notice is there, and it and every other mail sent or given up."""
        ended = Notice.objects.filter(stage=Notice.Stage.TAGGED).exclude(sent_at=None, dropped="")
        others = (model.objects.filter(WAITING[model]) for model in (Digest, CheckpointMail))
        return ended.count() >= len(self.wanted) and not any(rows.exists() for rows in others)

    def lost(self) -> int:
        return len(self.wanted - set(self.came()))

    def twice(self) -> list[list[dict]]:
        """Return what came more than once, each with all the mails that told it."""
        return [mails for mails in self.came().values() if len(mails) > 1]

    def mails_more(self) -> int:
        """Return how many mails told nothing that had not been told."""
        told, more = set(), 0
        for mail in self.world.sink.taken():
            more += _told_by(mail) <= told
            told |= _told_by(mail)
        return more

    def worst_delay_s(self) -> float:
        """Return the longest time from a tag to its first mail's coming, 0 without any."""
        came = self.came()
        owed = self.wanted & set(came)
        return max((came[key][0]["at"] - self.owed_at[key[1]] for key in owed), default=0)


def _told_by(mail) -> set[tuple[str, str]]:
    is_of_tags = mail["id"].strip().startswith(TOLD_AT_ONCE)
    return {(mail["to"][0], about) for about in (mail["carts"] if is_of_tags else [mail["id"]])}


def rows_twice() -> int:
    """Return how many notices are there more than once for one thing, stage and person."""
    keys = list(Notice.objects.values_list("about", "stage", "person"))
    return len(keys) - len(set(keys))
