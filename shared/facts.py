"""Writing facts: each with its lines and its journal entry, under its site's journal head."""

import hashlib
import secrets
from collections import defaultdict
from dataclasses import dataclass

from django.db import models, transaction

from shared.canonical import body_of
from shared.models import Entry, Fact, JournalHead, Line

SALT_BYTES = 16
BATCH_ROWS = 500


class OtherBody(Exception):
    """The id is in the journal already, with other content."""

    def __init__(self, fact):
        super().__init__(f"{fact.kind()} {fact.pk} was recorded before, with other content")
        self.fact = fact


@dataclass(frozen=True)
class Filed:
    """A fact as the journal has it; ``first`` is False when it was there already."""

    fact: Fact
    first: bool


def lock_sites(*site_ids):
    """Lock the journal heads of the sites, in id order, until the transaction ends."""
    for site_id in sorted(set(site_ids)):
        JournalHead.objects.get_or_create(site_id=site_id)
    heads = JournalHead.objects.select_for_update().filter(site_id__in=set(site_ids))
    return {head.site_id: head for head in heads.order_by("site_id")}


def record(fact: Fact, *lines: Line, at) -> Filed:
    """File one fact; the same id with the same body again gets the first answer."""
    return record_all([(fact, lines)], at=at)[0]


@transaction.atomic
def record_all(facts_with_lines, *, at) -> list[Filed]:
    """File many facts in the order given, all or none.

    Raises OtherBody when an id is known with another body.
    """
    wanted = [(fact, list(lines)) for fact, lines in facts_with_lines]
    heads = lock_sites(*(fact.site_id for fact, _ in wanted))
    known = _known_entries(wanted)
    filed, fresh = [], []
    for fact, lines in wanted:
        _fit_to_columns(fact, lines)
        earlier = known.get(fact.pk)
        if earlier is not None:
            _refuse_other_body(fact, lines, earlier)
        else:
            known[fact.pk] = _seal(fact, lines, heads[fact.site_id], at)
            fresh.append((fact, lines))
        filed.append(Filed(fact, first=earlier is None))
    _insert(fresh, known)
    _move_heads(heads)
    return filed


def _known_entries(wanted):
    ids = [fact.pk for fact, _ in wanted]
    found = {}
    for start in range(0, len(ids), BATCH_ROWS):
        for entry in Entry.objects.filter(fact_id__in=ids[start : start + BATCH_ROWS]):
            found[entry.fact_id] = entry
    return found


def _refuse_other_body(fact, lines, entry):
    fact.received_at = entry.received_at
    if body_of(fact, lines) != bytes(entry.body):
        raise OtherBody(fact)


def _seal(fact, lines, head, at):
    fact.received_at = max(at, head.last_received_at or at)
    head.last_received_at = fact.received_at
    head.size += 1
    body = body_of(fact, lines)
    salt = secrets.token_bytes(SALT_BYTES)
    return Entry(
        site_id=fact.site_id,
        seq=head.size,
        fact_id=fact.pk,
        kind=fact.kind(),
        cart_id=fact.entry_cart_id(),
        corrects=fact.corrects,
        received_at=fact.received_at,
        body=body,
        salt=salt,
        leaf=hashlib.sha256(b"\x00" + salt + body).digest(),
    )


def _fit_to_columns(fact, lines):
    """Round decimals to their column, so that a row read back has the sealed value."""
    for row in (fact, *lines):
        for field in row._meta.concrete_fields:
            value = getattr(row, field.attname)
            if isinstance(field, models.DecimalField) and value is not None:
                setattr(row, field.attname, round(field.to_python(value), field.decimal_places))


def _insert(fresh, entries):
    by_model = defaultdict(list)
    for fact, lines in fresh:
        by_model[type(fact)].append(fact)
        for line in lines:
            line.fact = fact
            by_model[type(line)].append(line)
    for model, rows in sorted(by_model.items(), key=lambda pair: issubclass(pair[0], Line)):
        model._base_manager.bulk_create(rows, batch_size=BATCH_ROWS)
    Entry.objects.bulk_create([entries[fact.pk] for fact, _ in fresh], batch_size=BATCH_ROWS)


def _move_heads(heads):
    for head in heads.values():
        head.save(update_fields=["size", "last_received_at"])
