"""The first telling of an entry that was corrected or moved: who did it, and when it arrived.

A correction is by who corrected; what it tells was done by who told it first. Finding the
first takes one query for each step back of the longest chain, however many are asked for,
and none where nothing was told again.
"""

from fleet.doubts import DISTANCE, HOURS
from fleet.lateness import arrival_of, tells_of
from shared.models import Entry, Strike


def first_tellings(facts):
    """Return {fact id: first telling} of the facts of one kind that replace an earlier one."""
    return {key: told[-1] for key, told in all_tellings(facts).items()}


def all_tellings(facts, model=None):
    """Return {fact id: its tellings, the newest first} of those that replace an earlier one.

    ``model`` is theirs, where they are rows of it and not instances.
    """
    again = {fact.pk: fact for fact in facts if fact.corrects}
    model = model or type(next(iter(again.values()), None))
    return _told(again, lambda ids: model._base_manager.in_bulk(ids))


def first_entries(entries):
    """Return {fact id: first telling} of the journal's entries that replace an earlier one."""
    again = {entry.fact_id: entry for entry in entries if entry.corrects}
    told = _told(again, lambda ids: Entry.objects.in_bulk(ids, field_name="fact_id"))
    return {key: one[-1] for key, one in told.items()}


def next_telling(fact):
    """Return what tells a fact again, and what struck it; each None where there is no such."""
    entry = Entry.objects.filter(corrects=fact.pk).first()
    if entry is None:
        return None, None
    again = type(fact)._base_manager.select_related("by", "cart").filter(pk=entry.fact_id).first()
    return again, Strike.objects.select_related("by").filter(pk=entry.fact_id).first()


def last_telling(fact):
    """Return the last telling of a fact, and the strike that took it back, if any."""
    again, strike = next_telling(fact)
    while again:
        fact = again
        again, strike = next_telling(fact)
    return fact, strike


def _told(again, read):
    told = {key: [one] for key, one in again.items()}
    behind = list(told)
    while behind:
        earlier = read([told[key][-1].corrects for key in behind])
        for key in behind:
            told[key].append(earlier[told[key][-1].corrects])
        behind = [key for key in behind if told[key][-1].corrects]
    return told


def first_arrival(fact, told):
    """Return when the first of a fact's tellings arrived that can have told of its work."""
    return min(came for came in map(arrival_of, told) if tells_of(fact.done_at, came))


def tellings_of(fact):
    """Return a fact and all that it replaces, the newest first."""
    told = [fact]
    while told[-1].corrects:
        told.append(type(fact)._base_manager.select_related("by").get(pk=told[-1].corrects))
    return told


def typed_of(reading, measure):
    """Return one figure of a reading as it was typed, as far as that can be told."""
    both = reading.typed.split("; ")
    other = DISTANCE if measure == HOURS else HOURS
    if getattr(reading, f"{other}_shown") is None:
        return reading.typed
    if len(both) > 1:
        return both[0] if measure == HOURS else both[1]
    return f"{getattr(reading, f'{measure}_shown').normalize():f}"
