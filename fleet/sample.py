"""The carts that a surveyor looks at: drawn by a number that the surveyor chose. Pure."""

import hashlib
from collections.abc import Iterable
from math import isqrt
from uuid import UUID


def size_of(count: int) -> int:
    """Return how many of ``count`` carts are drawn: the square root plus one, rounded up.

    Never more than there are. Common practice, no source.
    """
    root = isqrt(count)
    up = root if root * root == count else root + 1
    return min(count, up + 1)


def sample_of(number: str, cart_ids: Iterable[UUID]) -> list[UUID]:
    """Return the carts drawn by a number, in the order in which they are drawn.

    ``number`` is as typed: digits without a leading zero. Carts are ordered by SHA-256 of
    "NUMBER|CART_ID" in hex and the first ``size_of`` taken, so that the same number and
    carts give the same list, and nobody can tell the list before the number is said.
    """
    ids = set(cart_ids)
    in_order = sorted(ids, key=lambda one: hashlib.sha256(f"{number}|{one}".encode()).hexdigest())
    return in_order[: size_of(len(ids))]
