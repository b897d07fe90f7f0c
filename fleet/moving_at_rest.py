"""How far carts ran while they were tagged or laid up. No writes."""

from collections.abc import Sequence
from typing import NamedTuple

from fleet.gather import LAID_UP, Rest, ground_of, history_of, rests_of
from fleet.layup import lay_up_void, read_at_rest
from fleet.meters import points_of
from fleet.models import HandBack, Reading, Tag
from fleet.past_sites import sites_at
from fleet.usage import LifePoint


class Ran(NamedTuple):
    """The true readings of both meters between which it is counted what a cart ran."""

    hours: Sequence[LifePoint]
    metres: Sequence[LifePoint]

    @property
    def has_risen(self):
        return any(points and points[-1].life > points[0].life for points in self)


class Tagged(NamedTuple):
    tag: Tag
    back: HandBack | None
    ran: Ran
    readings: list[Reading]


class Rested(NamedTuple):
    rest: Rest
    ran: Ran
    is_void: bool


def moved_while_tagged(batch):
    """Yield (cart, Tagged) of each tag during which a meter rose, of the carts at the site."""
    carts = [cart for cart in batch.carts if cart.is_here and cart.facts.tags]
    ids = {fact.site_id for cart in carts for fact in cart.facts.changes}
    sites = sites_at(ids, batch.scope.cut)
    for cart in carts:
        backs = {back.tag_id: back for back in cart.facts.hand_backs}
        points = [_true(some) for some in points_of(cart.facts, sites)]
        for tag in cart.own(cart.facts.tags):
            back = backs.get(tag.pk)
            until = back.done_at if back else batch.scope.cut.happened_by
            ran = Ran(*(_between(some, tag.done_at, until) for some in points))
            if ran.has_risen:
                yield cart, Tagged(tag, back, ran, _readings(cart.facts, tag.done_at, until))


def _true(points):
    return [point for point in points if not point.estimated]


def _between(points, since, until):
    """Return the last point by a moment and all from then on up to another."""
    before = [point for point in points if point.at <= since]
    return [*before[-1:], *(point for point in points if since < point.at <= until)]


def _readings(facts, since, until):
    true = (one for one in facts.readings if one.source != Reading.Source.ESTIMATED)
    return [one for one in true if since < one.done_at <= until]


def lay_ups_in(batch):
    """Yield (cart, Rested) of each lay-up of the carts at the site."""
    carts = [cart for cart in batch.carts if cart.is_here and _was_laid_up(cart)]
    ground = ground_of([cart.facts for cart in carts], batch.scope.cut)
    for cart in carts:
        history = history_of(cart.facts, ground)
        meters = (history.hours, history.metres)
        for rest in rests_of(cart.facts, ground, history.books):
            seen = (read_at_rest(rest.lay_up, one) for one in meters)
            ran = Ran(*([one.point for one in some] for some in seen))
            yield cart, Rested(rest, ran, lay_up_void(rest.lay_up, *meters))


def _was_laid_up(cart):
    return any(change.what == LAID_UP for change in cart.facts.changes)
