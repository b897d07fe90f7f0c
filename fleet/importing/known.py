"""What is recorded of carts' meters, read for many carts at once."""

from collections.abc import Iterable
from uuid import UUID

from fleet.models import MeterFitted, Reading
from fleet.standing import FOREVER, CartFacts
from shared.models import Change


def meter_facts_of(cart_ids: Iterable[UUID]) -> dict[UUID, CartFacts]:
    """Return {cart id: its standing changes, meters and readings}, and nothing else of it."""
    ids = list(cart_ids)
    found = {cart_id: CartFacts(cart_id) for cart_id in ids}
    for name, model in (("changes", Change), ("meters", MeterFitted), ("readings", Reading)):
        rows = model.objects.standing(FOREVER).filter(cart_id__in=ids)
        for row in rows.order_by("done_at", "id"):
            getattr(found[row.cart_id], name).append(row)
    return found


def reading_ids_of(cart_ids: Iterable[UUID]) -> set[UUID]:
    """Return the ids of all readings of carts, of those taken back too."""
    rows = Reading.objects.filter(cart_id__in=list(cart_ids))
    return set(rows.values_list("pk", flat=True))
