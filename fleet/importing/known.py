"""What is recorded of carts' meters, read for many carts at once."""

from collections.abc import Iterable
from uuid import UUID

from fleet.models import MeterFitted, Reading
from fleet.standing import FOREVER, CartFacts
from shared.models import Change

OF_READING = (
    "pk",
    "cart_id",
    "site_id",
    "done_at",
    "source",
    "hours_shown",
    "distance_shown",
    "hours_rolled",
    "distance_rolled",
)


def meter_facts_of(cart_ids: Iterable[UUID]) -> dict[UUID, CartFacts]:
    """Return {cart id: its standing changes, meters and readings}, and nothing else of it."""
    ids = list(cart_ids)
    found = {cart_id: CartFacts(cart_id) for cart_id in ids}
    for name, model in (("changes", Change), ("meters", MeterFitted), ("readings", Reading)):
        rows = model.objects.standing(FOREVER).filter(cart_id__in=ids).order_by("done_at", "id")
        # of readings there are many: as plain rows they take a third
        rows = rows.values_list(*OF_READING, named=True) if model is Reading else rows
        for row in rows.iterator():
            getattr(found[row.cart_id], name).append(row)
    return found


def reading_ids_of(cart_ids: Iterable[UUID]) -> set[UUID]:
    """Return the ids of all readings of carts, of those taken back too."""
    rows = Reading.objects.filter(cart_id__in=list(cart_ids))
    return set(rows.values_list("pk", flat=True))
