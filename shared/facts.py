"""Writing facts: each with its lines and its journal entry, under its site's journal head."""

import hashlib
import json
import secrets
from collections import defaultdict
from datetime import datetime, timedelta
from typing import NamedTuple

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from shared import outside
from shared.canonical import body_of
from shared.columns import fit_to_columns
from shared.filing import BATCH_ROWS, among, insert_rows, like
from shared.models import Entry, Fact, JournalHead, Line, Restore, Strike, new_id
from shared.outside import BehindOutside
from shared.trials import kill_point

SALT_BYTES = 16
CLOCKS_DIFFER = timedelta(minutes=5)
# the least that columns of both databases tell apart
TICK = timedelta(microseconds=1)
LEFT_OPEN = ("done_at", "written_at")
TOLD_ANEW = ("id", "written_at", "received_at", "by", "corrects", "why_corrected")


class OtherBody(Exception):
    """The id is in the journal already, with other content."""

    def __init__(self, fact):
        super().__init__(f"{fact.kind()} {fact.pk} was recorded before, with other content")
        self.fact = fact


class StillToCome(Exception):
    """The fact is said to have been done later than now, past what clocks differ by."""

    def __init__(self, fact):
        super().__init__(f"{fact.kind()} {fact.pk} says it was done at {fact.done_at}, later on")
        self.fact = fact


class NotStanding(Exception):
    """A correction or strike points at an entry that it cannot take back; ``why`` says it."""

    def __init__(self, fact, why):
        super().__init__(f"{fact.kind()} {fact.pk} cannot take back {fact.corrects}: {why}")
        self.fact = fact
        self.why = why


class Filed(NamedTuple):
    """A fact as the journal has it; ``first`` is False when it was there already."""

    fact: Fact
    first: bool


def lock_sites(*site_ids):
    """Lock the journal heads of the sites, in id order, until the transaction ends."""
    if not transaction.get_connection().in_atomic_block:
        raise transaction.TransactionManagementError("outside a transaction nothing stays locked")
    ids = sorted(set(site_ids))
    heads = _locked(ids) if len(ids) == 1 else {}
    return heads or _locked_when_made(ids)


def _locked_when_made(ids):
    there = set(JournalHead.objects.filter(pk__in=ids).values_list("pk", flat=True))
    heads_new = [JournalHead(site_id=site_id) for site_id in ids if site_id not in there]
    if heads_new:
        JournalHead.objects.bulk_create(heads_new, ignore_conflicts=True)
    return _locked(ids)


def _locked(ids):
    heads = JournalHead.objects.select_for_update().filter(pk__in=ids).order_by("pk")
    return {head.pk: head for head in heads}


def record(fact: Fact, *lines: Line, at) -> Filed:
    """File one fact; the same id with the same body again gets the first answer."""
    return record_all([(fact, lines)], at=at)[0]


@transaction.atomic
def record_all(facts_with_lines, *, at) -> list[Filed]:
    """File many facts in the order given, all or none.

    The same id with the same body again gets the first answer: ``first`` is False and
    the fact has the times of the first. ``done_at`` and ``written_at`` left None become
    ``at``, in a second sending those of the first, so that it cannot differ in them.
    ``received_at`` is never before that of the entry before it: once the clock was ahead
    it lies ahead of ``at``, and a tick after what was filed before.

    Raises OtherBody when an id is known with another body, NotStanding when ``corrects``
    points at what cannot be taken back, StillToCome for what is yet to be done,
    BehindOutside when a journal is older than its newest checkpoint outside, ValueError
    for a value that no column can hold, two lines of one kind in one place or a
    correction without a reason.
    """
    wanted = [(fact, list(lines)) for fact, lines in facts_with_lines]
    for fact, lines in wanted:
        _fit(fact, lines)
    heads = lock_sites(*_sites_of(wanted))
    _refuse_when_behind(wanted, heads)
    known = _entries_of({fact.id for fact, _lines in wanted})
    kill_point("after-key-check")
    fresh = [(fact, lines) for fact, lines in wanted if fact.id not in known]
    targets = _Targets(fresh, heads)
    ends = {pk: (head, _arrival(head, at)) for pk, head in heads.items()}
    filed, sealed = [], {}
    for fact, lines in wanted:
        earlier = known.get(fact.id)
        if earlier is not None:
            _refuse_other_body(fact, lines, earlier)
        else:
            targets.refuse_unless_standing(fact)
            _fill(fact, at, at)
            targets.refuse_to_come(fact, at)
            entry = known[fact.id] = _seal(fact, lines, *ends[fact.site_id])
            targets.add(entry)
            sealed[fact.id] = (fact, lines, entry)
        filed.append(Filed(fact, first=earlier is None))
    _insert(sealed)
    _move_heads(heads)
    kill_point("after-entry")
    return filed


def filed_before(facts_with_lines) -> list[Filed] | None:
    """Return the first answer when all of it was filed with the same bodies, else None.

    Takes no lock: entries never change. What None means is for record_all to decide.
    """
    wanted = [(fact, list(lines)) for fact, lines in facts_with_lines]
    known = _entries_of({fact.pk for fact, _lines in wanted})
    if len(known) < len(wanted):
        return None
    try:
        for fact, lines in wanted:
            _fit(fact, lines)
            _refuse_other_body(fact, lines, known[fact.pk])
    except OtherBody:
        return None
    return [Filed(fact, first=False) for fact, _lines in wanted]


def strike(fact, *, reason, by, at, id=None, site=None) -> Filed:
    """Take back a standing fact, which stays readable; ``site`` is the cart's new one, if any.

    Raises NotStanding, ValueError for an empty reason.
    """
    taking_back = Strike(
        id=id or new_id(),
        site_id=site.pk if site else fact.site_id,
        cart_id=fact.entry_cart_id(),
        corrects=fact.pk,
        why_corrected=reason,
        by=by,
    )
    return record(taking_back, at=at)


def correction_of(fact, *, reason, by, **values):
    """Return a fact to be recorded in place of a standing one: its copy with ``values``.

    Another ``cart`` makes it a wrong-cart move. Lines are told again with the recording.
    """
    names = [field.attname for field in fact._meta.concrete_fields if field.name not in TOLD_ANEW]
    corrected = type(fact)(**{name: getattr(fact, name) for name in names})
    corrected.corrects, corrected.why_corrected, corrected.by = fact.pk, reason, by
    for name, value in values.items():
        setattr(corrected, name, value)
    return corrected


class _Targets:
    """The entries that corrections point at, and which of them are taken back already."""

    def __init__(self, fresh, heads):
        self.heads = heads
        ids = {fact.corrects for fact, _lines in fresh} - {None}
        self.entries = _entries_of(ids)
        self.taken_back = {
            entry.corrects
            for some in _batches(ids)
            for entry in among(Entry.objects, "corrects", some).only("corrects")
        }

    def add(self, entry):
        self.entries[entry.fact_id] = entry
        if entry.corrects is not None:
            self.taken_back.add(entry.corrects)

    def refuse_unless_standing(self, fact):
        if fact.corrects is None:
            return
        if not fact.why_corrected.strip():
            raise ValueError(f"{fact.kind()} {fact.pk} corrects without saying why")
        why = self._obstacle(fact, self.entries.get(fact.corrects))
        if why is not None:
            raise NotStanding(fact, why)

    def refuse_to_come(self, fact, at):
        """Refuse what is yet to be done; what was told while the clock was ahead keeps its time."""
        if fact.done_at - at <= CLOCKS_DIFFER:
            return
        told = (_times_in(entry)["done_at"] for entry in self.entries.values())
        if fact.done_at not in told:
            raise StillToCome(fact)

    def _obstacle(self, fact, target):
        if target is None or not self._is_of_site(fact, target):
            return _("there is no such entry at this site")
        if target.fact_id in self.taken_back:
            return _("it was corrected or struck already")
        if target.kind == Strike.kind():
            return _("a strike stays: record the fact again")
        if fact.kind() not in (target.kind, Strike.kind()):
            return _("it is an entry of another kind")
        return None

    def _is_of_site(self, fact, target):
        """Say whether the entry is the site's, or of a cart that has come to the site."""
        if target.site_id == fact.site_id:
            return True
        came = Entry.objects.filter(site_id=fact.site_id, cart_id=target.cart_id)
        return target.site_id in self.heads and target.cart_id is not None and came.exists()


def _fit(fact, lines):
    for place, line in enumerate(lines):
        if line.place is None:
            line.place = place
    if len({(type(line), line.place) for line in lines}) < len(lines):
        raise ValueError(f"two lines of {fact.kind()} {fact.pk} have one place")
    for row in (fact, *lines):
        fit_to_columns(row)


def _sites_of(wanted):
    """Sites to lock: those of the facts, and those of the entries that they take back."""
    ids = {fact.corrects for fact, _lines in wanted} - {None}
    elsewhere = Entry.objects.filter(fact_id__in=ids).values_list("site_id", flat=True)
    return {fact.site_id for fact, _lines in wanted} | (set(elsewhere) if ids else set())


def _refuse_when_behind(wanted, heads):
    if all(isinstance(fact, Restore) for fact, _lines in wanted):
        return
    for head in heads.values():
        statement = outside.is_behind(head)
        if statement is not None:
            raise BehindOutside(head, statement)


def _batches(ids):
    ids = list(ids)
    return [ids[start : start + BATCH_ROWS] for start in range(0, len(ids), BATCH_ROWS)]


def _entries_of(ids):
    entries = [entry for some in _batches(ids) for entry in among(Entry.objects, "fact_id", some)]
    return {entry.fact_id: entry for entry in entries}


def _refuse_other_body(fact, lines, entry):
    fact.received_at = entry.received_at
    _fill(fact, **_times_in(entry))
    if body_of(fact, lines) != bytes(entry.body):
        raise OtherBody(fact)


def _times_in(entry):
    said = json.loads(bytes(entry.body))
    return {name: datetime.fromisoformat(said[name]) for name in LEFT_OPEN}


def _fill(fact, done_at, written_at):
    fact.done_at = fact.done_at or done_at
    fact.written_at = fact.written_at or written_at


_EMPTY = Entry()


def _arrival(head, at):
    """Return when what is filed now arrives: after all before it, also when the clock was ahead."""
    last = head.last_received_at
    return at if last is None or last <= at else last + TICK


def _seal(fact, lines, head, arrives_at):
    fact.received_at = head.last_received_at = arrives_at
    head.size += 1
    body = body_of(fact, lines)
    salt, leaf = salted_leaf(body)
    return like(
        _EMPTY,
        site_id=fact.site_id,
        seq=head.size,
        fact_id=fact.id,
        kind=fact.kind(),
        cart_id=fact.entry_cart_id(),
        corrects=fact.corrects,
        received_at=fact.received_at,
        body=body,
        salt=salt,
        leaf=leaf,
    )


def salted_leaf(body: bytes) -> tuple[bytes, bytes]:
    """Return (salt, leaf) of an entry's body: a leaf alone tells nothing of it."""
    salt = secrets.token_bytes(SALT_BYTES)
    return salt, hashlib.sha256(b"\x00" + salt + body).digest()


def _insert(sealed):
    try:
        with transaction.atomic():
            _insert_rows(sealed)
    except IntegrityError as error:
        # another site, whose head is not locked here, may have taken the id
        for fact_id in _entries_of(sealed):
            raise OtherBody(sealed[fact_id][0]) from error
        raise


def _insert_rows(sealed):
    by_model = defaultdict(list)
    for fact, lines, entry in sealed.values():
        for line in lines:
            line.fact = fact
        for row in (fact, *lines, entry):
            by_model[type(row)].append(row)
    for model, rows in sorted(by_model.items(), key=lambda pair: issubclass(pair[0], Line)):
        insert_rows(model, rows)


def _move_heads(heads):
    for head in heads.values():
        head.save(update_fields=["size", "last_received_at"])
