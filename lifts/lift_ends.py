"""From when a lift is off again: one rule for a cart's chapters and for its rounds' pages. Pure.

A removal that was told too late acts from when it was told, whatever day its entry says.
"""

from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from fleet.lateness import acts_from, arrival_of


class End(NamedTuple):
    """From when a lift is off, and the fact that ended it."""

    at: datetime
    fact_id: UUID


def end_of(lift, told, removals, later, by) -> End | None:
    """Return what ended a lift up to a moment, the next one or a removal: None while it is on.

    ``told`` are the ids of all tellings of its fitting, ``removals`` all those of its cart,
    ``later`` the fittings after it.
    """
    ends = [End(fitting.done_at, fitting.pk) for fitting in later]
    for removal in removals:
        if removal.done_at > lift.done_at or removal.fitting_id in told:
            ends.append(End(removal_acts_at(removal), removal.pk))
    return min((end for end in ends if end.at <= by), default=None)


def removal_acts_at(removal) -> datetime:
    return acts_from(removal.done_at, arrival_of(removal), removal.brought_in)
