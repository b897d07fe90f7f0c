"""Looks whether a site's history is what was recorded, and names the first entry that is not.

Two passes. The stored bytes: each entry's number and leaf, the leaves kept outside, and the
root of every checkpoint. Then the rows that pages read: each typed row with its lines against
its entry's bytes, and each photo against its fingerprint.
"""

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from uuid import UUID

from django.apps import apps
from django.db.models import Exists, OuterRef

from shared import keys, outside
from shared.canonical import body_of
from shared.checkpoint import Statement
from shared.models import Change, Checkpoint, Entry, Fact, JournalHead, Line, Photo, Restore
from shared.photos import copy_path
from shared.sealing import SIGNED_KEY, SIGNING_KEY, statement_of
from shared.tree import EMPTY_ROOT, Growing

PAGE_ENTRIES = 2000
PAGE_ROWS = 500


@dataclass(frozen=True)
class Fault:
    """What is not as it was recorded; ``seq`` is the first entry known to be touched.

    ``since`` is set where only a span is known: one of the entries since .. seq.
    """

    seq: int | None
    what: str
    since: int | None = None

    def __str__(self):
        if self.seq is None:
            return self.what
        if self.since is not None and self.since < self.seq:
            return f"one of the entries {self.since} to {self.seq}: {self.what}"
        return f"entry {self.seq}: {self.what}"


def first_fault(faults: Iterable[Fault]) -> Fault | None:
    """Return the fault that names the earliest single entry, else the first there is."""
    found = list(faults)
    named = [one for one in found if one.seq is not None and one.since is None]
    return min(named, key=lambda one: one.seq) if named else next(iter(found), None)


def byte_faults(site, given: Iterable[Statement] = ()) -> Iterator[Fault]:
    """Yield what is wrong with the stored bytes: entries, leaves, tree, checkpoints.

    ``given`` are checkpoints that somebody kept elsewhere. Reads the journal once.
    """
    head = JournalHead.objects.filter(site=site).first() or JournalHead(site_id=site.pk)
    signed = _Signed(site, head, given)
    yield from signed.faults()
    grown, last_at = Growing(), None
    for page in pages(site):
        fault = _first_broken(page, grown.size, last_at)
        leaves = [row.leaf for row in page]
        yield from signed.unlike_outside(grown.size, leaves)
        if fault is not None:
            # the numbers or bytes fail from here on: nothing later can be told
            yield fault
            return
        yield from signed.compared(grown, leaves)
        last_at = page[-1].received_at
    yield from signed.compared(grown, [])
    yield from _end_faults(head, grown.size, last_at)


class _Row:
    """What the first pass reads of an entry."""

    __slots__ = ("body", "leaf", "received_at", "salt", "seq")

    def __init__(self, seq, received_at, body, salt, leaf):
        self.seq, self.received_at = seq, received_at
        self.body, self.salt, self.leaf = bytes(body), bytes(salt), bytes(leaf)


def pages(site):
    """Yield a journal's entries in pages, by number."""
    entries = Entry.objects.filter(site=site).order_by("seq")
    after = -1
    while rows := list(
        entries.filter(seq__gt=after).values_list("seq", "received_at", "body", "salt", "leaf")[
            :PAGE_ENTRIES
        ]
    ):
        yield [_Row(*row) for row in rows]
        after = rows[-1][0]


def _first_broken(page, before, last_at):
    for expected, row in enumerate(page, before + 1):
        if row.seq != expected:
            return Fault(expected, "it is missing")
        if hashlib.sha256(b"\x00" + row.salt + row.body).digest() != row.leaf:
            return Fault(row.seq, "its bytes do not give its leaf")
        if last_at is not None and row.received_at < last_at:
            return Fault(row.seq, "it says that it arrived before the entry it follows")
        last_at = row.received_at
    return None


def _end_faults(head, size, last_at):
    if head.size > size:
        yield Fault(size + 1, f"it is missing: the journal says that it has {head.size} entries")
    elif head.size < size:
        yield Fault(head.size + 1, f"the journal says that it has only {head.size} entries")
    elif last_at is not None and head.last_received_at != last_at:
        yield Fault(size, "the journal says that its last entry arrived at another moment")


def cut_off_by(statement: Statement, restores: Iterable[Restore]) -> Restore | None:
    """Return the restore that told of the last entry under a checkpoint as missing."""
    later = (one for one in restores if one.epoch > statement.epoch)
    held = (one for one in later if one.missing_from <= statement.size <= one.missing_to)
    return next(held, None)


class _Signed:
    """The checkpoints of a site by size, and the leaves outside, met as the journal is read."""

    def __init__(self, site, head, given):
        self.site, self.head = site, head
        self.newest = outside.newest(site.pk)
        self.restores = list(Restore.objects.filter(site=site))
        rows = [statement_of(row) for row in Checkpoint.objects.filter(site=site)]
        kept = [self.newest] if self.newest else []
        ended = outside.ended(site.pk)
        self.all = [*rows, *kept, *ended, *given]
        self.by_size = defaultdict(list)
        for statement in self.all:
            if statement.site == site.pk and cut_off_by(statement, self.restores) is None:
                self.by_size[statement.size].append(statement)
        self.wanted = sorted(self.by_size)
        self.agreed = 0
        self.kept = [(None, self._kept_up_to(one)) for one in kept]
        self.kept += [(one.epoch, self._kept_up_to(one)) for one in ended]

    def _kept_up_to(self, statement):
        """Return up to which entry the leaves kept with a checkpoint are those of this journal."""
        later = [one for one in self.restores if one.epoch > statement.epoch]
        return min([statement.size, *(one.missing_from - 1 for one in later)])

    def faults(self):
        """Yield what is wrong with the checkpoints themselves."""
        known = _known_keys(self.site)
        for statement in self.all:
            if not statement.is_signed():
                yield Fault(None, f"{named(statement)} is not signed by the key it names")
            elif statement.key.hex() not in known:
                yield Fault(None, f"{named(statement)} is signed by a key that is not ours")
            if statement.site != self.site.pk:
                yield Fault(None, f"{named(statement)} is of another site")
        yield from self._later_epochs()
        yield from _forged_keys(self.site)
        epoch = max([1, *(one.epoch for one in self.restores)])
        if self.head.epoch != epoch:
            told = f"the journal says epoch {self.head.epoch}, and its restores epoch {epoch}"
            yield Fault(None, told)

    def _later_epochs(self):
        for statement in self.all:
            if statement.site == self.site.pk and statement.epoch > self.head.epoch:
                yield Fault(None, f"{named(statement)} is of a later epoch than the journal")

    def compared(self, grown, leaves):
        """Add a page of leaves; yield where they are not those that were signed or kept."""
        start, first = 0, grown.size
        for size in [one for one in self.wanted if first <= one <= first + len(leaves)]:
            grown.add(leaves[start : size - first])
            start = size - first
            yield from self._at(grown)
        grown.add(leaves[start:])
        self.wanted = [one for one in self.wanted if one > grown.size or not leaves]
        if not leaves:
            yield from self._beyond(grown.size)

    def unlike_outside(self, before, leaves):
        """Yield the first of a page of leaves that is not the one kept outside."""
        for epoch, up_to in self.kept:
            most = min(before + len(leaves), up_to)
            kept = outside.leaves(self.site.pk, before, most, epoch) if most > before else []
            for seq, (leaf, other) in enumerate(zip(leaves, kept, strict=False), before + 1):
                if leaf != other:
                    self.kept = []
                    yield Fault(seq, "it is not the entry that was signed")
                    return

    def _at(self, grown):
        root = grown.root() if grown.size else EMPTY_ROOT
        for statement in self.by_size[grown.size]:
            if statement.root != root:
                since = self.agreed + 1
                yield Fault(grown.size, f"not what {named(statement)} was signed over", since)
                return
        self.agreed = grown.size

    def _beyond(self, size):
        for later in [one for one in self.by_size if one > size]:
            for statement in self.by_size[later]:
                yield Fault(size + 1, f"it is missing: {named(statement)} was signed over it")


def _known_keys(site):
    """Return the public keys that the journal names; with none named, the one that signs."""
    changes = Change.objects.filter(site=site, what=SIGNING_KEY)
    named = {change.value.get(name, "") for change in changes for name in ("key", "before")}
    return named or {keys.public_hex()}


def _forged_keys(site):
    """Yield each change of the key that bears another signature than the old key's."""
    for change in Change.objects.filter(site=site, what=SIGNING_KEY).order_by("received_at", "id"):
        said = [f"{change.value.get(name, '')}" for name in ("before", "signature", "key")]
        before, signature, key = said
        signed = SIGNED_KEY.format(key=key, site=site.pk).encode("utf-8")
        # none where the old key was lost: nobody can follow from it
        if signature and not keys.is_signed(before, signature, signed):
            entry = Entry.objects.filter(fact_id=change.pk).first()
            yield Fault(entry and entry.seq, "the old key did not sign this change of the key")


def named(statement: Statement) -> str:
    at = f"{statement.at:%Y-%m-%d %H:%M}"
    return f"the checkpoint of {at} UTC (epoch {statement.epoch}, size {statement.size})"


def row_faults(site) -> Iterator[Fault]:
    """Yield what is wrong with the rows that pages read, against the bytes of their entries."""
    entries = Entry.objects.filter(site=site)
    kinds = set(entries.order_by().values_list("kind", flat=True).distinct())
    for model in fact_models():
        if model.kind() in kinds:
            yield from _kind_faults(model, entries.filter(kind=model.kind()).order_by("seq"))
        yield from _unknown_rows(site, model)
    known = [model.kind() for model in fact_models()]
    for entry in entries.exclude(kind__in=known).order_by("seq")[:1]:
        yield Fault(entry.seq, f"it is of a kind that does not exist: {entry.kind}")


def _kind_faults(model, entries):
    after = -1
    while page := list(entries.filter(seq__gt=after)[:PAGE_ROWS]):
        yield from _page_faults(model, page)
        after = page[-1].seq


def fact_models() -> list[type[Fact]]:
    return [model for model in apps.get_models() if issubclass(model, Fact)]


def _line_models(model):
    lines = [one for one in apps.get_models() if issubclass(one, Line)]
    return [one for one in lines if one._meta.get_field("fact").related_model is model]


def rows_of(model, page):
    """Return ({fact id: fact}, {fact id: lines}) of a page of entries of one kind."""
    ids = [entry.fact_id for entry in page]
    facts = model._base_manager.in_bulk(ids)
    lines = defaultdict(list)
    for line_model in _line_models(model):
        for line in line_model._base_manager.filter(fact__in=ids).iterator():
            lines[line.fact_id].append(line)
    return facts, lines


def _page_faults(model, page):
    facts, lines = rows_of(model, page)
    for entry in page:
        what = _row_fault(entry, facts.get(entry.fact_id), lines[entry.fact_id])
        if what is not None:
            yield Fault(entry.seq, what)


def _row_fault(entry, fact, lines):
    if fact is None:
        return f"its row is missing: {entry.kind} {entry.fact_id}"
    body = bytes(entry.body)
    if fact.site_id != entry.site_id:
        return f"its row is of another site: {entry.kind} {entry.fact_id}"
    if body_of(fact, lines) != body:
        told = ", ".join(_other_fields(body_of(fact, lines), body))
        return f"its row says something else ({told}): {entry.kind} {entry.fact_id}"
    columns = (fact.entry_cart_id(), fact.corrects, fact.received_at)
    if columns != (entry.cart_id, entry.corrects, entry.received_at):
        return f"its cart, what it corrects or its arrival is not as its bytes say: {entry.fact_id}"
    return _photo_fault(fact)


def _other_fields(row, entry):
    """Return the names of the fields in which two bodies differ."""
    try:
        mine, other = json.loads(row), json.loads(entry)
    except ValueError:
        return ["unreadable"]
    return sorted(name for name in mine.keys() | other.keys() if mine.get(name) != other.get(name))


def _photo_fault(fact):
    if not isinstance(fact, Photo):
        return None
    try:
        with copy_path(fact).open("rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return f"the file of its photo is missing: {fact.copy_sha256}"
    return None if found == fact.copy_sha256 else f"its photo is another: {fact.copy_sha256}"


def _unknown_rows(site, model):
    """Yield rows that no entry tells of."""
    told = Entry.objects.filter(fact_id=OuterRef("pk"), site_id=OuterRef("site_id"))
    rows = model._base_manager.filter(~Exists(told), site=site)
    for pk in rows.values_list("pk", flat=True)[:PAGE_ROWS]:
        yield Fault(None, f"no entry tells of {model.kind()} {_id(pk)}")


def _id(pk: UUID) -> str:
    return str(pk)
