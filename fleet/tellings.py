"""The first telling of an entry that was corrected or moved: who did it, and when it arrived.

A correction is by who corrected; what it tells was done by who told it first. Finding the
first takes one query for each step back of the longest chain, however many are asked for,
and none where nothing was told again.
"""

from shared.models import Entry


def first_tellings(facts):
    """Return {fact id: first telling} of the facts of one kind that replace an earlier one."""
    again = {fact.pk: fact for fact in facts if fact.corrects}
    model = type(next(iter(again.values()), None))
    return _first_of(again, lambda ids: model._base_manager.in_bulk(ids))


def first_entries(entries):
    """Return {fact id: first telling} of the journal's entries that replace an earlier one."""
    again = {entry.fact_id: entry for entry in entries if entry.corrects}
    return _first_of(again, lambda ids: Entry.objects.in_bulk(ids, field_name="fact_id"))


def _first_of(first, read):
    behind = list(first)
    while behind:
        earlier = read([first[key].corrects for key in behind])
        first |= {key: earlier[first[key].corrects] for key in behind}
        behind = [key for key in behind if first[key].corrects]
    return first


def tellings_of(fact):
    """Return a fact and all that it replaces, the newest first."""
    told = [fact]
    while told[-1].corrects:
        told.append(type(fact)._base_manager.select_related("by").get(pk=told[-1].corrects))
    return told
