"""The carts of a sample with where they stand and what is on them, as a walk. No writes."""

import re
from collections import defaultdict
from dataclasses import dataclass

from fleet.kinds import Cut, register
from fleet.models import Cart
from fleet.sample import sample_of

LAST_DIGITS = 4


@dataclass(frozen=True)
class Drawn:
    """One cart of the sample; ``lift`` are the short names of the lifts on it."""

    cart: Cart
    lift: str

    @property
    def serial_end(self):
        return self.cart.serial[-LAST_DIGITS:]

    @property
    def what(self):
        return " · ".join(filter(None, [self.lift, self.cart.tyre, self.cart.colour]))


@dataclass(frozen=True)
class Sample:
    """The carts drawn by a number, in the order of the walk, out of so many lifted ones."""

    number: str
    lifted: int
    carts: list[Drawn]


def sample_at(viewer, site, number) -> Sample:
    """Draw the lifted carts to look at by a number, of those that the register shows now."""
    lifted = Cart.objects.visible_to(viewer).filter(site=site).lifted().in_fleet()
    carts = lifted.select_related("site").in_bulk()
    drawn = sample_of(number, carts)
    lifts = _lifts(drawn, Cut.known_now(viewer.at))
    found = [Drawn(carts[cart_id], ", ".join(lifts[cart_id])) for cart_id in drawn]
    return Sample(number, len(carts), sorted(found, key=_on_the_walk))


def _lifts(cart_ids, cut):
    """Return {cart: short names of the lifts on it}."""
    found = defaultdict(list)
    for source in register.sources:
        for chapter in source.chapters(cart_ids, cut):
            if chapter.until_at is None:
                found[chapter.cart_id].append(chapter.kit_code)
    return found


def _on_the_walk(drawn):
    cart = drawn.cart
    return [_as_read(text) for text in (cart.area, cart.bay, cart.number, str(cart.pk))]


def _as_read(text):
    """Order "B2" before "B10"."""
    # split so, every other part is a run of digits
    words = re.split(r"(\d+)", text)
    return [int(word) if place % 2 else word for place, word in enumerate(words)]
