"""Checkpoints of a journal, the restore of an older database, and a change of the key."""

from dataclasses import dataclass
from datetime import timedelta
from functools import partial

from django.db import transaction
from django.db.models import Max

from shared import checkpoint, keys, outside
from shared.checkpoint import Statement
from shared.clock import moment_of
from shared.facts import lock_sites, record, record_all
from shared.keys import KeyUnusable
from shared.models import Change, Checkpoint, Entry, JournalHead, Restore, Site
from shared.outside import PAGE_LEAVES, BehindOutside, OutsideSpoilt
from shared.tree import Growing, Tree

SIGNING_KEY = "signing key"
# of looking at the clock: another worker may have looked later
SIGNED_WITHIN = timedelta(minutes=10)
SIGNED_KEY = "cart records key 1\n{key}\n{site}\n"


class Rewritten(Exception):
    """A journal no longer holds what was signed of it; ``entry`` is the first that differs.

    ``slug`` is that of its site.
    """

    def __init__(self, slug, entry):
        super().__init__(
            f"Entry {entry} of site {slug} is gone, or is not the one that was signed. "
            "Nothing more is signed: look at the journal with manage.py verify_history."
        )
        self.slug, self.entry = slug, entry


def _slug(site_id):
    return Site.objects.values_list("slug", flat=True).get(pk=site_id)


class NothingMissing(Exception):
    """The journal holds all that its newest checkpoint outside was signed over."""


# what keeps a journal from being signed or written: each says in a line what to do
SEAL_FAULTS = (BehindOutside, KeyUnusable, OutsideSpoilt, Rewritten)


def leaves_of(site_id, start: int, end: int) -> list[bytes]:
    """Return the leaves of a journal at indexes start to end - 1, fewer where rows are gone."""
    entries = Entry.objects.filter(site_id=site_id, seq__gt=start, seq__lte=end)
    return [bytes(leaf) for leaf in entries.order_by("seq").values_list("leaf", flat=True)]


def tree_of(site_id, size: int) -> Tree:
    return Tree(partial(leaves_of, site_id), size)


def statement_of(row: Checkpoint) -> Statement:
    """Return what a checkpoint's row says, with its signature."""
    return Statement(
        site=row.site_id,
        epoch=row.epoch,
        size=row.size,
        root=bytes(row.root),
        at=row.made_at,
        key=bytes.fromhex(row.key),
        signature=bytes.fromhex(row.signature),
    )


def make_checkpoint(site, *, at, cause, known_by=None, once_within=None) -> Checkpoint | None:
    """Sign a site's journal, or the part of it that had arrived by a moment, and keep it outside.

    The leaves are read before the journal is locked: entries never change. ``once_within``:
    None, and nothing is signed, where one of that cause was made between these two moments.

    Raises one of SEAL_FAULTS.
    """
    seen = JournalHead.objects.filter(pk=site.pk).first() or JournalHead(site_id=site.pk)
    size = seen.size if known_by is None else _size_known_by(seen, known_by)
    root = _checked_root(seen, size)
    with transaction.atomic():
        if lock_sites(site.pk)[site.pk].epoch == seen.epoch:
            if once_within is not None and is_made(site, cause, within=once_within):
                return None
            return _sign(seen, size, root, _private_key(site.pk), at=at, cause=cause)
    # a restore was recorded meanwhile
    return make_checkpoint(site, at=at, cause=cause, known_by=known_by, once_within=once_within)


def span_of_day(site, at):
    """Return from when to when what is known to be signed on the day of a moment was made.

    What is dated well after the moment was signed by a clock that was ahead.
    """
    today = site.day(at)
    next_day = moment_of(today + timedelta(days=1), 0, site.zone)
    return moment_of(today, 0, site.zone), min(next_day, at + SIGNED_WITHIN)


def is_made(site, cause, *, within) -> bool:
    """Whether a checkpoint of that cause was made at a site from one moment on, before another."""
    first, end = within
    made = Checkpoint.objects.filter(site=site, cause=cause, made_at__gte=first, made_at__lt=end)
    return made.exists()


def refuse_unsignable(head):
    """Raise one of SEAL_FAULTS where a journal could not be signed as it is. Reads all of it."""
    _checked_root(head, head.size)
    _private_key(head.site_id)


def _sign(head, size, root, private, *, at, cause):
    epoch = _epoch_of(head, size)
    statement = checkpoint.sign(
        private, site=head.site_id, epoch=epoch, size=size, root=root, at=at
    )
    transaction.on_commit(partial(_keep_outside, statement))
    return Checkpoint.objects.create(
        site_id=head.site_id,
        epoch=statement.epoch,
        size=size,
        root=root,
        made_at=at,
        key=statement.key.hex(),
        signature=statement.signature.hex(),
        cause=cause,
    )


def _epoch_of(head, size):
    """Return the epoch that wrote the first entries: an earlier one where restores kept them."""
    restores = Restore.objects.filter(site_id=head.site_id)
    if not restores.filter(missing_from__gt=size).exists():
        return head.epoch
    return restores.filter(missing_from__lte=size).aggregate(last=Max("epoch", default=1))["last"]


def _keep_outside(statement):
    for change in _key_changes(statement.site):
        outside.keep_key_change(statement.site, change.value)
    outside.keep(statement, partial(leaves_of, statement.site))


def _key_changes(site_id):
    return Change.objects.filter(site_id=site_id, what=SIGNING_KEY).order_by("received_at", "id")


def _size_known_by(head, known_by):
    known = Entry.objects.filter(site_id=head.site_id, seq__lte=head.size)
    last = known.filter(received_at__lte=known_by).order_by("seq").last()
    return last.seq if last else 0


def _checked_root(head, size):
    """Return the root over the first leaves; refuse a journal taken back or rewritten."""
    before = outside.newest(head.site_id)
    if outside.is_behind(head):
        raise BehindOutside(head, before)
    if before and before.epoch < head.epoch:
        if not _is_told_missing(before):
            raise Rewritten(_slug(head.site_id), _first_other(head, before))
        before = None
    grown, roots = Growing(), {}
    for stop in sorted({size, before.size if before else size}):
        _grow(grown, head.site_id, stop)
        roots[stop] = grown.root()
    if before and roots[before.size] != before.root:
        raise Rewritten(_slug(head.site_id), _first_other(head, before))
    return roots[size]


def _grow(grown, site_id, size):
    """Add the leaves up to a size, in pages."""
    for start in range(grown.size, size, PAGE_LEAVES):
        end = min(start + PAGE_LEAVES, size)
        grown.add(leaves_of(site_id, start, end))
        if grown.size != end:
            raise Rewritten(_slug(site_id), _first_gap(site_id, start))


def _first_gap(site_id, start):
    entries = Entry.objects.filter(site_id=site_id, seq__gt=start).order_by("seq")
    for expected, seq in enumerate(entries.values_list("seq", flat=True)[:PAGE_LEAVES], start + 1):
        if seq != expected:
            return expected
    return start + 1 + entries.count()


def _is_told_missing(statement):
    """Say whether a restore told of all that an earlier epoch had signed and is not here."""
    restores = Restore.objects.filter(site_id=statement.site, epoch__gt=statement.epoch)
    told = restores.filter(missing_to__gte=statement.size).order_by("missing_from").first()
    if told is None:
        return False
    # who can write a row could tell of less than is gone
    return _is_as_kept(statement.site, told.missing_from - 1)


def _is_as_kept(site_id, end):
    """Say whether the first entries are those kept outside, as far as leaves are kept there."""
    for start in range(0, end, PAGE_LEAVES):
        stop = min(start + PAGE_LEAVES, end)
        kept = outside.leaves(site_id, start, stop)
        if kept != leaves_of(site_id, start, stop)[: len(kept)]:
            return False
    return True


def _first_other(head, statement):
    """Return the first entry that is not the one kept outside, None if all are.

    Where the leaves outside are lost, the first that cannot be told.
    """
    for start in range(0, statement.size, PAGE_LEAVES):
        end = min(start + PAGE_LEAVES, statement.size)
        here = leaves_of(head.site_id, start, end)
        kept = outside.leaves(head.site_id, start, end)
        if len(kept) < end - start:
            return min(head.size, start + len(kept)) + 1
        if here != kept:
            pairs = enumerate(zip([*here, b""], kept, strict=False), start + 1)
            return next(seq for seq, (mine, other) in pairs if mine != other)
    return None


def _private_key(site_id):
    """Return the key that the journal names; finish a change of it that was cut short."""
    named = named_key(site_id)
    keys.move_next(named)
    private = keys.private_key()
    if named and keys.hex_of(private) != named:
        raise KeyUnusable(
            f"site {_slug(site_id)} was signed with the key {named[:16]}…, and the folder of the "
            "key holds another: put its signing.key back, or run manage.py rotate_key --lost"
        )
    return private


def named_key(site_id) -> str:
    """Return the public key that the journal names last, "" where nothing was signed."""
    told = [*_key_changes(site_id), *Restore.objects.filter(site_id=site_id)]
    if told:
        last = max(told, key=lambda fact: (fact.received_at, fact.pk))
        is_change = isinstance(last, Change)
        return last.value["key"] if is_change else checkpoint.read(last.outside).key.hex()
    signed = Checkpoint.objects.filter(site_id=site_id).order_by("made_at", "id").last()
    return signed.key if signed else ""


@dataclass(frozen=True)
class Missing:
    """What a journal lacks of what was signed: its entries from ``first`` to the signed size."""

    first: int
    signed: Statement


def missing_of(head) -> Missing | None:
    """Return what a restore would name now, None where the journal holds all that was signed."""
    signed = outside.newest(head.site_id)
    if signed is None or (signed.epoch < head.epoch and _is_told_missing(signed)):
        return None
    first = _first_other(head, signed)
    return None if first is None else Missing(first, signed)


@transaction.atomic
def record_restore(site, *, reason, by, at) -> Checkpoint:
    """Record that an older database was put back: what is missing, and the epoch that begins.

    Raises NothingMissing when the journal holds all that was signed, or one of SEAL_FAULTS.
    """
    head = lock_sites(site.pk)[site.pk]
    found = missing_of(head)
    if found is None:
        raise NothingMissing
    signed = found.signed
    epoch = max(head.epoch, signed.epoch) + 1
    missing = {"missing_from": found.first, "missing_to": signed.size, "outside": signed.text}
    record(Restore(site=site, by=by, epoch=epoch, reason=reason, **missing), at=at)
    JournalHead.objects.filter(pk=site.pk).update(epoch=epoch)
    _tell_key_changes_again(site, by=by, at=at)
    return make_checkpoint(site, at=at, cause=Checkpoint.Cause.RESTORE)


def _tell_key_changes_again(site, *, by, at):
    """Enter what an older database lost: the old key can sign it no more."""
    known = [change.value for change in _key_changes(site.pk)]
    for value in outside.key_changes(site.pk):
        if value not in known:
            record(Change(site=site, by=by, what=SIGNING_KEY, value=value), at=at)


def rotate_key(*, by, at, lost=False) -> str:
    """Change the key at every site; return the new public key as hex.

    The old key signs the new one, the new one signs a checkpoint. ``lost``: the old one is
    gone, so nobody can follow from it. A crash before the commit leaves the old key in force;
    after it, the next checkpoint or start moves the new one into place.

    Raises one of SEAL_FAULTS.
    """
    sites = list(Site.objects.order_by("pk"))
    with keys.changing():
        old = [_private_key_or_none(site.pk, lost) for site in sites]
        new = keys.make_next()
        with transaction.atomic(durable=True):
            values = [_key_value(*pair, new) for pair in zip(sites, old, strict=True)]
            _record_key_changes(sites, values, by=by, at=at)
            for site in sites:
                head = JournalHead.objects.get(pk=site.pk)
                root = _checked_root(head, head.size)
                _sign(head, head.size, root, new, at=at, cause=Checkpoint.Cause.KEY)
        keys.move_next(keys.hex_of(new))
    return keys.hex_of(new)


def _private_key_or_none(site_id, lost):
    keys.move_next(named_key(site_id))
    return None if lost else _private_key(site_id)


def _key_value(site, old, new):
    key = keys.hex_of(new)
    before = keys.hex_of(old) if old else named_key(site.pk)
    signed = SIGNED_KEY.format(key=key, site=site.pk).encode("ascii")
    return {"key": key, "before": before, "signature": old.sign(signed).hex() if old else ""}


def _record_key_changes(sites, values, *, by, at):
    changes = [
        Change(site=site, by=by, what=SIGNING_KEY, value=value)
        for site, value in zip(sites, values, strict=True)
    ]
    record_all([(change, ()) for change in changes], at=at)
