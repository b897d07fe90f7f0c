"""The newest readings of a cart, for pages that show no more of its meters than those."""

from bisect import bisect_right
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from fleet.meters import points_of
from fleet.models import MeterFitted, Reading
from fleet.reading_rows import reading_rows
from fleet.standing import CartFacts, lifts_into
from fleet.usage import BY_MOMENT, RATE_WINDOW_DAYS, LifePoint
from shared.clock import FOREVER
from shared.models import Change
from shared.standing import standing_rows

# more than a page's plot shows
LEAST_READINGS = 64
BEGINNING = datetime.min.replace(tzinfo=UTC)
MEASURES = {"hours": "hours_life", "distance": "metres_life"}


@dataclass(frozen=True)
class Lately:
    """A cart's changes, meters and lifts, and of its readings the newest of each meter.

    ``since`` is, by measure, the moment of the true reading from which on all are there;
    None where they are from the first one on.
    """

    cart: object
    facts: CartFacts
    since: dict[str, datetime | None]

    def points(self, sites) -> list[tuple[LifePoint, ...]]:
        """Return the life points of both meters, with the life that they have in the whole."""
        both = points_of(self.facts, sites)
        lives = [getattr(self.cart, name) for name in MEASURES.values()]
        return [
            _as_in_whole(points, self.since[measure], life)
            for measure, points, life in zip(MEASURES, both, lives, strict=True)
        ]


def _as_in_whole(points, since, last_life):
    if since is None:
        return points
    place = bisect_right(points, since, key=BY_MOMENT) - 1
    # from a true reading on all runs are as they are in the whole, but for where they start
    while points[place].estimated:
        place -= 1
    shift = last_life - points[-1].life
    return tuple(point._replace(life=point.life + shift) for point in points[place:])


def lately_of(cart) -> Lately:
    """Return what is known now of a cart's running, by few rows however long it ran."""
    facts = CartFacts(cart.pk)
    facts.changes = standing_rows(Change, [cart.pk], FOREVER, FOREVER)
    facts.meters = standing_rows(MeterFitted, [cart.pk], FOREVER, FOREVER)
    since, rows = dict.fromkeys(MEASURES), set()
    for measure in MEASURES:
        if getattr(cart, MEASURES[measure]) is not None:
            read = _standing(Reading, cart).exclude(**{f"{measure}_shown": None})
            since[measure] = _begin(read)
            rows.update(reading_rows(read.filter(done_at__gte=since[measure] or BEGINNING)))
    facts.readings = sorted(rows, key=lambda row: (row.done_at, row.id))
    lifts_into({cart.pk: facts})
    return Lately(cart, facts, since)


def _standing(model, cart):
    return model.objects.standing().filter(cart_id=cart.pk)


def _begin(read):
    """Return the moment of the true reading from which on so many are read; None for the first.

    It asks twice however few there are: a cart's page costs as many queries at any age.
    """
    newest = list(read.order_by("-done_at").values_list("done_at", flat=True)[:LEAST_READINGS])
    if not newest:
        return None
    least = min(newest[-1], newest[0] - timedelta(days=RATE_WINDOW_DAYS))
    true = read.filter(done_at__lte=least).exclude(source=Reading.Source.ESTIMATED)
    begin = true.order_by("-done_at").values_list("done_at", flat=True).first()
    return begin if len(newest) == LEAST_READINGS else None
