"""What is recorded of carts' meters, read for many carts at once."""

from collections.abc import Iterable
from uuid import UUID

from fleet.models import MeterFitted, Reading
from fleet.standing import FOREVER, CartFacts
from shared.models import Change
from shared.standing import standing_facts, standing_rows

OF_READING = (
    "id",
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
    for change in standing_facts(Change, ids, FOREVER, FOREVER):
        found[change.cart_id].changes.append(change)
    for meter in standing_facts(MeterFitted, ids, FOREVER, FOREVER):
        found[meter.cart_id].meters.append(meter)
    for row in standing_rows(Reading, ids, FOREVER, FOREVER, OF_READING):
        found[row.cart_id].readings.append(row)
    return found


def reading_ids_of(cart_ids: Iterable[UUID]) -> set[UUID]:
    """Return the ids of all readings of carts, of those taken back too."""
    rows = Reading.objects.filter(cart_id__in=list(cart_ids))
    return set(rows.values_list("pk", flat=True))
