"""Entries that tables tell of, and that stand in the journal of another site."""

from fleet.bundle.lifts import PIECE_CARTS, gone_at
from shared.models import Entry


def elsewhere_text(scope) -> str:
    """Return the ids of what other sites recorded of carts that came from there, one a line."""
    ids = []
    for start in range(0, len(scope.cart_ids), PIECE_CARTS):
        some = scope.cart_ids[start : start + PIECE_CARTS]
        gone = gone_at(scope, some)
        here = [cart_id for cart_id in some if cart_id not in gone]
        entries = Entry.objects.filter(cart_id__in=here, received_at__lte=scope.cut.known_by)
        entries = entries.exclude(site=scope.site).order_by()
        ids += map(str, entries.values_list("fact_id", flat=True).iterator())
    return "".join(f"{one}\n" for one in sorted(ids))
