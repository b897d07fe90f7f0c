"""When a lift was put on a cart or taken off: what that moved is no drift. No writes."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from fleet.kinds import Cut, register


def breaks_of(cart_ids: Iterable[UUID], cut: Cut) -> dict[UUID, list[datetime]]:
    """Return the moments by cart; a constant number of queries."""
    found = defaultdict(list)
    for source in register.sources:
        for one in source.chapters(list(cart_ids), cut):
            moments = (one.from_at, one.until_at)
            found[one.cart_id] += [at for at in moments if at and at <= cut.happened_by]
    return found
