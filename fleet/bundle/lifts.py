"""Which carts of a site had a lift there, and the facts with which each began and ended."""

from collections import defaultdict

from fleet.gather import JOINED, MOVED
from fleet.kinds import register
from shared.models import Change

PIECE_CARTS = 500


def lifts_of(scope, cart_ids) -> dict:
    """Return {cart: ids of what began and what ended its lifts}, for carts that had one.

    A lift that was fitted once the cart had gone to another site is not the site's to tell.
    """
    found = defaultdict(set)
    for some in _pieces(cart_ids):
        gone = gone_at(scope, some)
        for source in register.sources:
            for chapter in source.chapters(some, scope.cut):
                if chapter.cart_id not in gone or chapter.from_at < gone[chapter.cart_id]:
                    found[chapter.cart_id] |= {chapter.fitting_id, chapter.ended_by} - {None}
    return dict(found)


def gone_at(scope, cart_ids) -> dict:
    """Return {cart: when it left for another site}, for those that are not at the scope's."""
    moves = scope.standing(Change).filter(cart_id__in=cart_ids, what__in=(JOINED, MOVED))
    gone = {}
    for cart_id, site_id, at in moves.values_list("cart_id", "site_id", "done_at"):
        if site_id == scope.site.pk:
            gone.pop(cart_id, None)
        else:
            gone.setdefault(cart_id, at)
    return gone


def _pieces(ids):
    return [ids[start : start + PIECE_CARTS] for start in range(0, len(ids), PIECE_CARTS)]
