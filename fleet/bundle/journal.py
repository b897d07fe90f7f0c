"""The journal in the bundle: its entries, its earlier checkpoints, proofs that it only grew."""

import json
from dataclasses import dataclass, field
from pathlib import Path

from fleet.bundle.showing import Showing
from shared.canonical import canonical
from shared.models import Change, Checkpoint, Entry, Photo
from shared.sealing import SIGNING_KEY, statement_of, tree_of
from shared.tree import Growing, is_consistent

PAGE_ENTRIES = 2000
FIELDS = ("seq", "kind", "cart_id", "fact_id", "received_at", "body", "salt", "leaf")


class JournalSpoilt(Exception):
    """The stored entries are not those that the checkpoint is over."""


@dataclass
class Entries:
    """What was written of the entries: how many, and the copies of photos that are shown."""

    size: int = 0
    withheld: int = 0
    photos: set = field(default_factory=set)


def write_entries(scope, checkpoint, to: Path, progress) -> Entries:
    """Write every entry that a checkpoint is over, one a line; see FORM.md.

    Raises JournalSpoilt when their leaves do not come to its root.
    """
    written, grown, showing = Entries(), Growing(), Showing(scope)
    with to.open("wb") as file:
        for page in _pages(scope.site.pk, checkpoint.size):
            file.writelines(_line(entry, showing, written) for entry in page)
            grown.add([bytes(entry.leaf) for entry in page])
            written.size = page[-1].seq
            progress(100 * written.size // checkpoint.size)
    if grown.size != checkpoint.size or grown.root() != bytes(checkpoint.root):
        raise JournalSpoilt(scope.site)
    return written


def _pages(site_id, size):
    last = 0
    while last < size:
        rows = Entry.objects.filter(site_id=site_id, seq__gt=last, seq__lte=size)
        page = list(rows.order_by("seq").values_list(*FIELDS, named=True)[:PAGE_ENTRIES])
        if not page:
            return
        yield page
        last = page[-1].seq


def _line(entry, showing, written) -> bytes:
    end = f'"leaf":"{bytes(entry.leaf).hex()}"'
    if not showing.is_in_scope(entry):
        return f'{{{end},"seq":{entry.seq}}}\n'.encode()
    withheld = showing.withheld(entry)
    if withheld:
        written.withheld += 1
        return f'{{{end},"seq":{entry.seq},"withheld":"{withheld}"}}\n'.encode()
    if entry.kind == Photo.kind():
        written.photos.add(json.loads(bytes(entry.body))["copy_sha256"])
    end = f'{end},"salt":"{bytes(entry.salt).hex()}","seq":{entry.seq}}}\n'
    return b'{"body":' + bytes(entry.body) + b"," + end.encode()


def earlier_statements(checkpoint) -> list:
    """Return what was signed of the site before and reaches no further: (row, statement)."""
    rows = Checkpoint.objects.filter(site=checkpoint.site_id).exclude(pk=checkpoint.pk)
    mine = (checkpoint.epoch, checkpoint.size)
    rows = [row for row in rows.order_by("made_at", "pk") if (row.epoch, row.size) <= mine]
    return [(row, statement_of(row)) for row in rows]


def checkpoints_text(earlier) -> str:
    return "".join(f"{statement.text}\n" for _row, statement in earlier)


def key_changes(site) -> list[dict]:
    """Return every change of the key: the one that signs now may be newer than the entries."""
    changes = Change.objects.filter(site=site, what=SIGNING_KEY).order_by("received_at", "id")
    return [change.value for change in changes]


def proofs_json(earlier, checkpoint) -> bytes:
    """Return proofs (RFC 9162 2.1.4) from the oldest checkpoint and those of bundles on.

    One that a restore cut off has none: the restore's entry says so.
    """
    tree = tree_of(checkpoint.site_id, checkpoint.size)
    told, proofs = set(), []
    for row, statement in earlier:
        asked = not told or row.cause == Checkpoint.Cause.BUNDLE
        named = (statement.epoch, statement.size, statement.root)
        if not asked or named in told or not 0 < statement.size <= checkpoint.size:
            continue
        hashes = tree.consistency_proof(statement.size)
        if is_consistent(*named[1:], checkpoint.size, bytes(checkpoint.root), hashes):
            told.add(named)
            proofs.append(_proof(statement, hashes))
    return canonical(proofs)


def _proof(statement, hashes):
    return {
        "epoch": statement.epoch,
        "hashes": [one.hex() for one in hashes],
        "root": statement.root.hex(),
        "size": statement.size,
    }
