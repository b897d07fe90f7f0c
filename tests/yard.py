"""A cart, its site and someone who writes about it: what tests of facts stand on."""

from dataclasses import dataclass
from datetime import timedelta

from fleet.models import Cart, Note
from shared.models import Entry, Person
from tests.factories import MORNING

LATER = MORNING + timedelta(hours=1)


@dataclass(frozen=True)
class Yard:
    cart: Cart
    by: Person

    def note(self, text="found a nail", **values):
        about = {"site": self.cart.site, "cart": self.cart, "by": self.by, "text": text}
        return Note(**about | values)


def seqs(site):
    return list(Entry.objects.filter(site=site).values_list("seq", flat=True))
