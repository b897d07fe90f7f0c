"""How an entry was told over time: first, corrected, struck. The old values stay readable."""

import json
from dataclasses import dataclass

from shared.models import Entry, Person


@dataclass(frozen=True)
class Telling:
    """One entry of a chain: what it says, who told it and why it took back the one before.

    ``values`` is the entry's body: plain JSON, decimals and moments as strings.
    """

    entry: Entry
    by: Person
    why: str
    values: dict


def history_of(fact_id) -> list[Telling]:
    """Return the tellings of a fact, the first one first; none for an unknown id.

    Any id of the chain finds it whole. It may cross sites, where a cart moved.
    """
    chain = _chain_through(Entry.objects.filter(fact_id=fact_id).first())
    bodies = [json.loads(bytes(entry.body)) for entry in chain]
    people = Person.objects.in_bulk({body["by"] for body in bodies})
    by_id = {str(person.pk): person for person in people.values()}
    return [
        Telling(entry, by_id[body["by"]], body["why_corrected"], body)
        for entry, body in zip(chain, bodies, strict=True)
    ]


def _chain_through(entry):
    while entry is not None and entry.corrects is not None:
        entry = Entry.objects.get(fact_id=entry.corrects)
    chain = []
    while entry is not None:
        chain.append(entry)
        entry = Entry.objects.filter(corrects=entry.fact_id).first()
    return chain
