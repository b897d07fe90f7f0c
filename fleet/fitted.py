"""Whether a lift was on a cart at a moment: its work is never done before its fitting."""

from fleet.kinds import register
from fleet.standing import EVERYTHING


class BeforeFitting(Exception):
    """Work at a lift is said to have been done before any lift was put on the cart."""


def refuse_before_fitting(cart, at, parts):
    """Raise BeforeFitting for work at a lift before any was put on, taken off since or not.

    ``parts`` are (fact, lines) of the parts of a round.
    """
    kinds = {part.model: part for part in register.parts.values()}
    if not any(kinds[type(fact)].is_at_lift(fact, lines) for fact, lines in parts):
        return
    zone = cart.site.zone
    if not any(chapter.earliest(zone) <= at for chapter in chapters_of(cart)):
        raise BeforeFitting(cart)


def is_after_removal(cart, at):
    """Whether the cart had a lift before a moment, and none then."""
    begun = [one for one in chapters_of(cart) if one.earliest(cart.site.zone) <= at]
    return bool(begun) and all(chapter.is_off_at(at) for chapter in begun)


def chapters_of(cart):
    return [one for source in register.sources for one in source.chapters([cart.pk], EVERYTHING)]
