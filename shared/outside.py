"""What is kept of each site's journal outside the database, best on another volume.

``<site id>.txt`` is the newest checkpoint, ``<site id>.leaves`` every leaf up to it, 32 bytes
each: with them an older or a rewritten database is found out, and named to the entry. What an
ended epoch left behind stays, as ``<site id>.epoch-1.txt`` and ``.leaves``.
"""

import fcntl
import json
import os
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings

from shared import checkpoint, durable
from shared.checkpoint import Statement
from shared.tree import ReadLeaves

LEAF_BYTES = 32
PAGE_LEAVES = 4096

_read_before: dict[Path, tuple[tuple, Statement]] = {}


class OutsideSpoilt(Exception):
    """The newest checkpoint outside cannot be read; the one line says what to do."""


class BehindOutside(Exception):
    """A site's journal is older than its newest checkpoint outside: nothing is recorded."""

    def __init__(self, head, statement):
        super().__init__(
            f"The database is older than its newest checkpoint: {said_of(head, statement)}. "
            "Nothing is recorded until a manager records the restore: on the site's page Seal, or "
            f"with manage.py record_restore --site {head.site.slug}."
        )
        self.head, self.statement = head, statement


def said_of(head, statement) -> str:
    """Say what an older journal lacks."""
    ends = f"the journal of site {head.site.slug} ends at entry {head.size} of epoch {head.epoch}"
    return f"{ends}, and entry {statement.size} of epoch {statement.epoch} was signed"


def newest(site_id) -> Statement | None:
    """Return the newest checkpoint kept of a site's journal. Raises OutsideSpoilt."""
    path = _path(site_id, "txt")
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise OutsideSpoilt(f"cannot read {path}: {error.strerror}") from error
    stamp = (found.st_ino, found.st_mtime_ns, found.st_size)
    known = _read_before.get(path)
    if known is None or known[0] != stamp:
        known = _read_before[path] = (stamp, _read(path, site_id))
    return known[1]


def is_behind(head) -> Statement | None:
    """Return the newest checkpoint outside if the journal's head has not come so far."""
    statement = newest(head.site_id)
    if statement and (head.epoch, head.size) < (statement.epoch, statement.size):
        return statement
    return None


def keep(statement: Statement, read: ReadLeaves) -> None:
    """Keep a checkpoint unless a newer one is kept, and the leaves that it adds.

    ``read(start, end)`` returns the leaves at indexes start to end - 1.
    """
    with _locked(statement.site):
        before = newest(statement.site)
        if before and (before.epoch, before.size) > (statement.epoch, statement.size):
            return
        if before and before.epoch < statement.epoch:
            _set_aside(before)
            before = None
        _add_leaves(statement, before.size if before else 0, read)
        durable.replace(_path(statement.site, "txt"), statement.text.encode("ascii"))


def ended(site_id) -> list[Statement]:
    """Return the newest checkpoint of each epoch that ended. Raises OutsideSpoilt."""
    paths = Path(settings.CHECKPOINTS).glob(f"{site_id}.epoch-*.txt")
    return [_read(path, site_id) for path in sorted(paths)]


def leaves(site_id, start: int, end: int, epoch=None) -> list[bytes]:
    """Return the leaves kept at indexes start to end - 1, fewer where the file ends before.

    ``epoch``: those of one that ended.
    """
    ending = "leaves" if epoch is None else f"epoch-{epoch}.leaves"
    try:
        with _path(site_id, ending).open("rb") as file:
            file.seek(start * LEAF_BYTES)
            found = file.read((end - start) * LEAF_BYTES)
    except FileNotFoundError:
        return []
    whole = len(found) - len(found) % LEAF_BYTES
    return [found[place : place + LEAF_BYTES] for place in range(0, whole, LEAF_BYTES)]


def keep_key_change(site_id, value: dict) -> None:
    """Keep what the journal says of a change of the key: a restored one may not have it."""
    with _locked(site_id):
        known = key_changes(site_id)
        if value not in known:
            lines = "".join(f"{json.dumps(one, sort_keys=True)}\n" for one in [*known, value])
            durable.replace(_path(site_id, "keys"), lines.encode("ascii"))


def key_changes(site_id) -> list[dict]:
    """Return the changes of the key that were kept, in their order."""
    try:
        text = _path(site_id, "keys").read_text("ascii")
    except FileNotFoundError:
        return []
    return [json.loads(line) for line in text.splitlines()]


def made_folder() -> Path:
    """Return the folder, made if it is not there yet."""
    folder = Path(settings.CHECKPOINTS)
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _path(site_id, ending) -> Path:
    return Path(settings.CHECKPOINTS) / f"{site_id}.{ending}"


@contextmanager
def _locked(site_id):
    made_folder()
    with _path(site_id, "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _read(path, site_id):
    try:
        statement = checkpoint.read(path.read_text("ascii"))
    except (OSError, ValueError) as error:
        raise OutsideSpoilt(f"{path} holds no checkpoint: put back a copy of it") from error
    if statement.site != site_id or not statement.is_signed():
        raise OutsideSpoilt(f"{path} is not signed for this site: put back a copy of it")
    return statement


def _set_aside(before):
    for ending in ("leaves", "txt"):
        path = _path(before.site, ending)
        if path.exists():
            durable.move(path, _path(before.site, f"epoch-{before.epoch}.{ending}"))


def _add_leaves(statement, known, read):
    with _path(statement.site, "leaves").open("ab") as file:
        # what lies beyond the newest checkpoint was cut short, and may be no prefix
        there = min(file.tell() // LEAF_BYTES, known)
        file.truncate(there * LEAF_BYTES)
        for start in range(there, statement.size, PAGE_LEAVES):
            file.write(b"".join(read(start, min(start + PAGE_LEAVES, statement.size))))
        file.flush()
        os.fsync(file.fileno())
