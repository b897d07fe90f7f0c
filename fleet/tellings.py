"""The first telling of an entry that was corrected or moved: who did it, and when it arrived.

A correction is by who corrected; what it tells was done by who told it first.
"""


def first_tellings(facts):
    """Return {fact id: first telling} of the facts of one kind that replace an earlier one.

    One query for each step back of the longest chain, however many facts there are; none
    where nothing was told again.
    """
    first = {fact.pk: fact for fact in facts if fact.corrects}
    behind = set(first)
    while behind:
        model = type(next(iter(first.values())))
        earlier = model._base_manager.in_bulk({first[key].corrects for key in behind})
        first |= {key: earlier[first[key].corrects] for key in behind}
        behind = {key for key in behind if first[key].corrects}
    return first


def tellings_of(fact):
    """Return a fact and all that it replaces, the newest first."""
    told = [fact]
    while told[-1].corrects:
        told.append(type(fact)._base_manager.select_related("by").get(pk=told[-1].corrects))
    return told
