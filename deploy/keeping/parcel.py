"""The one file of a backup: a tar of a first line, the database, the files, and the manifest.

Sealed under a key, or plain with a sum at its end. It is written and read once from start to end.
"""

import os
import tarfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import BinaryIO

from deploy.keeping import manifest, sealed, summed
from deploy.keeping.manifest import Filed, Manifest
from deploy.keeping.refused import NotBegun, Refused
from deploy.keeping.sealed import Sealing, Unsealing
from deploy.keeping.summed import Summed, Summing
from shared import keys

FIRST, SAYS = "backup.txt", b"cart records backup 1\n"
DATABASE, MANIFEST = "database", "manifest.json"
MEDIA, SECRETS = "media/", "secrets/"
SECRET_FILES = ("secret", keys.SIGNING, keys.NEXT)
BLOCK_BYTES = 1024 * 1024
MODE = 0o600

NOT_ONE = "This is no backup of the tool: give a file that manage.py backup wrote."
CHANGED = "The file is cut short, or was changed: take another copy of it."


class Writer:
    """A backup being written; ``filed`` lists what went in."""

    def __init__(self, tar, at):
        self._tar, self._at, self.filed = tar, at, []
        self.add_bytes(FIRST, SAYS)

    def add(self, name: str, file: BinaryIO, size: int) -> None:
        passing = _Passing(file)
        self._tar.addfile(self._about(name, size), passing)
        self.filed.append(Filed(name, size, passing.sum.hexdigest()))

    def add_bytes(self, name: str, content: bytes) -> None:
        self.add(name, BytesIO(content), len(content))

    def _about(self, name, size):
        about = tarfile.TarInfo(name)
        about.size, about.mode, about.mtime = size, MODE, int(self._at.timestamp())
        return about


class _Passing:
    """A file that sums what is read of it."""

    def __init__(self, file):
        self._file, self.sum = file, sha256()

    def read(self, size):
        data = self._file.read(size)
        self.sum.update(data)
        return data


@contextmanager
def writing(file: BinaryIO, key: bytes | None, *, at) -> Iterator[Writer]:
    out = Sealing(file, key) if key else Summing(file)
    with tarfile.open(fileobj=out, mode="w|", format=tarfile.PAX_FORMAT) as tar:
        yield Writer(tar, at)
    out.close()


@dataclass
class Read:
    """What was found in a backup; ``sha256`` is that of the whole file."""

    files: dict[str, Filed] = field(default_factory=dict)
    manifest: Manifest | None = None
    bytes: int = 0
    sha256: str = ""
    is_sealed: bool = False


def read(path: Path, key: bytes | None, place: Callable[[str, int], Path | None]) -> Read:
    """Read all of a backup, and compare every file with what its manifest says.

    ``place(name, size)`` returns where a file is to be written, None where it is only to be
    summed. Raises Refused.
    """
    try:
        with path.open("rb") as raw:
            found = Read(is_sealed=_is_sealed(raw), bytes=os.fstat(raw.fileno()).st_size)
            passing = _Passing(raw)
            _read_all(_inner(passing, found, key), found, place)
    except tarfile.TarError as error:
        raise Refused(CHANGED) from error
    found.sha256 = passing.sum.hexdigest()
    _compare(found)
    return found


def _is_sealed(raw):
    """Look at how the file begins, and go back there."""
    begins = raw.read(len(sealed.BEGINS))
    raw.seek(0)
    if begins == sealed.BEGINS:
        return True
    if not begins.startswith(FIRST.encode("ascii") + b"\0"):
        raise Refused(NOT_ONE)
    summed.refuse_cut(raw)
    return False


def _inner(passing, found, key):
    if not found.is_sealed:
        return Summed(passing, found.bytes)
    if key is None:
        raise NotBegun("The backup is sealed: give its key with --key, or by FLEET_BACKUP_KEY.")
    return Unsealing(passing, key)


def _read_all(inner, found, place):
    with tarfile.open(fileobj=inner, mode="r|") as tar:
        for about in tar:
            if not _is_ours(about) or about.name in found.files:
                raise Refused(NOT_ONE)
            file = tar.extractfile(about)
            if about.name == MANIFEST:
                found.manifest = _manifest(file, about.size, len(found.files))
            else:
                _keep(found, about, file, place(about.name, about.size))
    # the end is judged when it is read
    while inner.read(BLOCK_BYTES):
        pass


def _is_ours(about):
    """Say whether a file belongs in a backup; links, devices and files with holes do not."""
    if about.type not in (tarfile.REGTYPE, tarfile.AREGTYPE) or about.issparse():
        return False
    if about.name in (FIRST, DATABASE, MANIFEST):
        return True
    folder, *parts = about.name.split("/")
    if f"{folder}/" == SECRETS:
        return len(parts) == 1 and parts[0] in SECRET_FILES
    return f"{folder}/" == MEDIA and bool(parts) and all(_is_plain(part) for part in parts)


def _is_plain(part):
    """Say whether a part of a name is one that is backed up: none begins with a dot."""
    return part != "" and not part.startswith(".") and "\0" not in part


def _manifest(file, size, count):
    if size > manifest.MOST_BYTES + count * manifest.FILE_BYTES:
        raise Refused(manifest.UNREADABLE)
    return manifest.read(file.read())


def within(folder: Path, name: str) -> Path:
    """Return where a file of a backup goes in a folder. Raises Refused where that is elsewhere."""
    target = folder / name
    if not target.resolve().is_relative_to(folder.resolve()):
        raise Refused(f"{target} leads out of {folder}: take the link in it away.")
    return target


def _keep(found, about, file, target):
    if target is not None:
        target.parent.mkdir(parents=True, exist_ok=True)
    with open(os.devnull if target is None else target, "wb") as out:
        found.files[about.name] = Filed(about.name, about.size, _copied(file, out))


def _copied(file, out):
    found = sha256()
    while data := file.read(BLOCK_BYTES):
        found.update(data)
        out.write(data)
    return found.hexdigest()


def _compare(found):
    if found.manifest is None:
        raise Refused("The backup holds no list of what is in it: take another copy of it.")
    told = {one.path: one for one in found.manifest.files}
    for name in sorted(told.keys() - found.files.keys()):
        raise Refused(f"{name} is missing in the backup, which lists it: take an older one.")
    for name, file in found.files.items():
        if told.get(name) != file:
            raise Refused(f"{name} in the backup is not what its list says: take an older one.")
