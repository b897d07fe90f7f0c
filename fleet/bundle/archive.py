"""Makes the bundle: every table into a folder, cart by cart, then all of it into one ZIP."""

import hashlib
import os
import zipfile
from dataclasses import dataclass
from pathlib import Path

from fleet.bundle.cells import TableFile
from fleet.bundle.scope import Scope, batches
from fleet.bundle.tables import COLUMNS, all_tables

README = "README.txt"
# six times as quick as the usual level, for a file a tenth larger
ZIP_LEVEL = 1
PIECE_BYTES = 2**20
TABLES_PERCENT = 90


@dataclass(frozen=True)
class Written:
    """One table as it was written."""

    name: str
    about: str
    rows: int
    sha256: str


def write_tables(scope: Scope, folder: Path, progress) -> list[Written]:
    """Write every table of the scope into a folder; ``progress(percent)`` is told of it."""
    files = [TableFile(folder / table.name, table) for table in (COLUMNS, *all_tables())]
    try:
        _fill(files, scope, progress)
    finally:
        for file in files:
            file.close()
    return [
        Written(file.table.name, str(file.table.about), file.rows, sha256_of(file.path))
        for file in files
    ]


def _fill(files, scope, progress):
    for file in files:
        if not file.table.per_cart:
            file.add(file.table.rows(scope))
    done, carts = 0, len(scope.cart_ids)
    for batch in batches(scope):
        for file in files:
            if file.table.per_cart:
                file.add(file.table.rows(batch))
        done += len(batch.carts)
        progress(TABLES_PERCENT * done // carts)


def pack(folder: Path, readme: str, names: list[str], to: Path) -> str:
    """Write the ZIP of the folder's files under a readme; return its SHA-256.

    It is whole on disk when this returns. A name opened as text bears no date but 1980, so
    that the same tables give the same bytes.
    """
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED, compresslevel=ZIP_LEVEL) as archive:
        with archive.open(README, "w") as entry:
            entry.write(readme.replace("\n", "\r\n").encode("utf-8"))
        for name in names:
            with (folder / name).open("rb") as file, archive.open(name, "w") as entry:
                while piece := file.read(PIECE_BYTES):
                    entry.write(piece)
    with to.open("rb") as file:
        os.fsync(file.fileno())
    return sha256_of(to)


def sha256_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def content_sha256(tables: list[Written]) -> str:
    """Return one fingerprint of all tables: the same facts and moments give the same."""
    lines = "".join(f"{table.sha256}  {table.name}\n" for table in tables)
    return hashlib.sha256(lines.encode()).hexdigest()
