"""Makes the bundle: its files into a folder, one by one, then all of them into one ZIP."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.utils.translation import gettext as _

from fleet.bundle.cells import TableFile
from fleet.bundle.csvw import metadata_of
from fleet.bundle.elsewhere import elsewhere_text
from fleet.bundle.journal import (
    checkpoints_text,
    earlier_statements,
    key_changes,
    proofs_json,
    write_entries,
)
from fleet.bundle.manifest import (
    fingerprint_of,
    is_content,
    manifest_of,
    sha256_of,
    signature_text,
)
from fleet.bundle.photos import path_of, sorted_out
from fleet.bundle.readme import readme_of
from fleet.bundle.scope import Scope, batches
from fleet.bundle.tables import COLUMNS, all_tables
from fleet.bundle.zipping import ZipWriter
from shared.canonical import canonical
from shared.keys import hex_of, private_key, public_hex
from shared.models import Checkpoint
from shared.sealing import statement_of

README = "README.txt"
ENTRIES = "entries.jsonl"
CHECKERS = Path(__file__).parent.parent / "checkers"
CHECKER_NAMES = ("check.py", "check.html")


class Changed(Exception):
    """A file, or the key, was another one at the end than before: the message names it."""


@dataclass(frozen=True)
class Written:
    """One table as it was written."""

    name: str
    about: str
    rows: int


@dataclass(frozen=True)
class Making:
    """One bundle in the making: its scope, the checkpoint over its entries, its folder."""

    scope: Scope
    checkpoint: Checkpoint
    folder: Path
    made_at: datetime
    made_by: str
    progress: Callable
    write_papers: Callable

    def part(self, start, end):
        """Return the progress of one part, told from 0 to 100, as that of the whole."""
        return lambda percent: self.progress(start + (end - start) * percent // 100)


def make_archive(making: Making, to: Path) -> tuple[str, str]:
    """Write the bundle's ZIP; return its SHA-256 and the fingerprint of its content."""
    tables = write_tables(making.scope, making.folder / "tables", making.part(0, 45))
    written = write_entries(
        making.scope, making.checkpoint, making.folder / ENTRIES, making.part(45, 60)
    )
    photos, faults = sorted_out(written.photos, making.part(60, 65))
    content = [*_tables(making, tables), *_journal(making), *_photos(photos, faults)]
    sums = [(_sum(source), name) for name, source in content if is_content(name)]
    fingerprint = fingerprint_of(sums)
    files = [
        (README, _readme(making, tables, written, fingerprint)),
        *_papers(making, fingerprint),
        *content,
        *((f"check/{name}", CHECKERS / name) for name in CHECKER_NAMES),
        ("checkpoint.txt", statement_of(making.checkpoint).text.encode()),
    ]
    with ZipWriter(to) as archive:
        _pack(archive, files, making.part(85, 100))
        _refuse_changed(archive.packed, sums)
        _close(making, archive, fingerprint)
    return sha256_of(to), fingerprint


def write_tables(scope: Scope, folder: Path, progress) -> list[Written]:
    """Write every table of the scope into a folder, and what its columns are beside it."""
    folder.mkdir()
    files = [TableFile(folder / table.name, table) for table in (COLUMNS, *all_tables())]
    try:
        _fill(files, scope, progress)
    finally:
        for file in files:
            file.close()
    for file in files:
        beside = file.path.with_name(f"{file.table.name}-metadata.json")
        beside.write_text(metadata_of(file.table), encoding="utf-8")
    return [Written(file.table.name, str(file.table.about), file.rows) for file in files]


def _fill(files, scope, progress):
    gathered = [(file, file.table.gather(scope)) for file in files if file.table.gather]
    for file in files:
        if not file.table.per_cart and not file.table.gather:
            file.add(file.table.rows(scope))
    done, carts = 0, len(scope.cart_ids)
    for batch in batches(scope):
        for file in files:
            if file.table.per_cart:
                file.add(file.table.rows(batch))
        for _file, tally in gathered:
            tally.take(batch)
        done += len(batch.carts)
        progress(100 * done // carts)
    lines = {file.table.name: file.rows for file in files}
    for file, tally in gathered:
        file.add(file.table.rows(tally, lines))


def _tables(making, tables):
    for table in tables:
        for name in (table.name, f"{table.name}-metadata.json"):
            yield f"tables/{name}", making.folder / "tables" / name


def _journal(making):
    earlier = earlier_statements(making.checkpoint)
    yield "journal/entries.jsonl", making.folder / ENTRIES
    yield "journal/checkpoints.txt", checkpoints_text(earlier).encode()
    yield "journal/proofs.json", proofs_json(earlier, making.checkpoint)
    changes = key_changes(making.scope.site)
    if changes:
        yield "journal/keys.json", canonical(changes)
    elsewhere = elsewhere_text(making.scope)
    if elsewhere:
        yield "journal/elsewhere.txt", elsewhere.encode()


def _photos(whole, faults):
    for sha256 in whole:
        yield f"photos/{sha256}.jpg", path_of(sha256)
    if faults:
        yield "photos/missing.txt", faults.encode()


def _sum(source) -> str:
    return hashlib.sha256(source).hexdigest() if isinstance(source, bytes) else sha256_of(source)


def _papers(making, fingerprint):
    to = making.folder / "report"
    to.mkdir()
    names = making.write_papers(
        making.scope,
        making.folder / "tables",
        to,
        checkpoint=statement_of(making.checkpoint),
        fingerprint=fingerprint,
        made_at=making.made_at,
        made_by=making.made_by,
        progress=making.part(65, 85),
    )
    return [(f"report/{name}", to / name) for name in names]


def _readme(making, tables, written, fingerprint):
    text = readme_of(making, tables, written, fingerprint=fingerprint, key=public_hex())
    return text.replace("\n", "\r\n").encode("utf-8")


def _pack(archive, files, progress):
    for place, (name, source) in enumerate(files):
        if isinstance(source, bytes):
            archive.add_bytes(name, source)
        else:
            archive.add_file(name, source)
        progress(100 * place // len(files))


def _refuse_changed(packed, sums):
    found = [(one.sha256, one.name) for one in packed if is_content(one.name)]
    for mine, other in zip(found, sums, strict=True):
        if mine != other:
            raise Changed(mine[1])


def _close(making, archive, fingerprint):
    """Add the manifest over all that was packed, and its signature."""
    manifest = manifest_of(
        making.scope,
        archive.packed,
        entries=making.checkpoint.size,
        fingerprint=fingerprint,
        made_at=making.made_at,
        made_by=making.made_by,
    )
    private = private_key()
    if hex_of(private) != making.checkpoint.key:
        raise Changed(_("The key that signs"))
    archive.add_bytes("manifest.json", manifest)
    signature = signature_text(hex_of(private), private.sign(manifest))
    archive.add_bytes("manifest.signature", signature.encode())
    archive.finish()
