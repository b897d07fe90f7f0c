"""Which entries of the journal a bundle shows with their body, and which as a hash alone."""

import json
from datetime import datetime
from functools import cached_property

from fleet.bundle.references import OWNER
from shared.models import Change, Entry, Strike

OWNER_WITHHELD = "owner"
ALWAYS = (Change.kind(), Strike.kind())


class Showing:
    """What a scope shows: all that is about no cart; of carts in scope, what is recent enough.

    Recent is what was done, arrived or was taken back since the first day. Changes of a cart,
    strikes, ends of lifts and tags that were still on then are shown however old.
    """

    def __init__(self, scope):
        self.scope = scope

    @cached_property
    def _carts(self):
        return set(self.scope.cart_ids)

    @cached_property
    def _kept(self):
        scope = self.scope
        answers = Entry.objects.filter(site=scope.site, received_at__gte=scope.since)
        answers = answers.filter(received_at__lte=scope.cut.known_by, corrects__isnull=False)
        return scope.kept | set(answers.order_by().values_list("corrects", flat=True))

    def is_in_scope(self, entry) -> bool:
        if entry.cart_id is None:
            return True
        if self.scope.lifted_only and entry.cart_id not in self._carts:
            return False
        since = self.scope.since
        if since is None or entry.received_at >= since:
            return True
        if entry.kind in ALWAYS or entry.fact_id in self._kept:
            return True
        return datetime.fromisoformat(_said(entry)["done_at"]) >= since

    def withheld(self, entry) -> str:
        """Return why an entry in scope is withheld all the same, nothing if it is not."""
        if self.scope.with_names or entry.kind != Change.kind():
            return ""
        return OWNER_WITHHELD if _said(entry)["value"].get(OWNER) else ""

    def shows(self, entry) -> bool:
        return self.is_in_scope(entry) and not self.withheld(entry)


def _said(entry):
    return json.loads(bytes(entry.body))
