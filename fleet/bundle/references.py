"""References that stand for people and owners: the same in every bundle of a site."""

from django.db.models import OuterRef, Subquery
from django.db.models.fields.json import KeyTextTransform

from shared.models import Change, Entry

OWNER = "owner_ref"
ELSEWHERE = "O-elsewhere"


def people_of(site, known_by) -> dict:
    """Return {person id: "P-0007"}, in the order in which people first had a role at the site."""
    given = _in_order(Change.objects.filter(site=site, what="role"), known_by)
    ids = dict.fromkeys(given.values_list("person_id", flat=True))
    return {person_id: f"P-{place:04}" for place, person_id in enumerate(ids, start=1)}


def stranger(person_id) -> str:
    """Return the reference of one who never had a role at the site: the random part of the id."""
    return f"P-{person_id.hex[-8:]}"


def owners_of(site, known_by) -> dict:
    """Return {owner as written: "O-0001"}, in the order in which the journal first names them."""
    named = _in_order(Change.objects.filter(site=site, value__has_key=OWNER), known_by)
    written = named.annotate(owner=KeyTextTransform(OWNER, "value"))
    owners = dict.fromkeys(written.values_list("owner", flat=True).iterator())
    owners = [owner for owner in owners if owner]
    return {owner: f"O-{place:04}" for place, owner in enumerate(owners, start=1)}


def _in_order(changes, known_by):
    entry = Entry.objects.filter(fact_id=OuterRef("pk")).values("seq")[:1]
    return changes.filter(received_at__lte=known_by).order_by(Subquery(entry))
