"""Which entries of the journal a bundle shows with their body, and which as a hash alone."""

import json
from datetime import datetime
from functools import cached_property

from fleet.bundle.references import OWNER
from shared.models import Change, Strike

OWNER_WITHHELD = "owner"
ALWAYS = (Change.kind(), Strike.kind())


class Showing:
    """What a scope shows: all that is about no cart; of carts in scope, what is recent enough.

    Changes of a cart, strikes, and what began and ended a lift are shown however old.
    """

    def __init__(self, scope):
        self.scope = scope

    @cached_property
    def _carts(self):
        return set(self.scope.cart_ids)

    @cached_property
    def _of_lifts(self):
        return set().union(*self.scope.lifts.values())

    def is_in_scope(self, entry) -> bool:
        if entry.cart_id is None:
            return True
        if self.scope.lifted_only and entry.cart_id not in self._carts:
            return False
        if self.scope.since is None or entry.kind in ALWAYS or entry.fact_id in self._of_lifts:
            return True
        return datetime.fromisoformat(_said(entry)["done_at"]) >= self.scope.since

    def withheld(self, entry) -> str:
        """Return why an entry in scope is withheld all the same, nothing if it is not."""
        if self.scope.with_names or entry.kind != Change.kind():
            return ""
        return OWNER_WITHHELD if _said(entry)["value"].get(OWNER) else ""

    def shows(self, entry) -> bool:
        return self.is_in_scope(entry) and not self.withheld(entry)


def _said(entry):
    return json.loads(bytes(entry.body))
