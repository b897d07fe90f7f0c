"""Files that stand whole or not at all, and still do after a power cut."""

import os
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path


def replace(path: Path, content: bytes) -> None:
    """Write the file, in place of any; only its owner may read it."""
    _write(path, content, os.replace)


def make(path: Path, content: bytes) -> None:
    """Write the file if there is none: of two writers at once the first one's stays."""
    with suppress(FileExistsError):
        # a rename would take the place of the other one's
        _write(path, content, os.link)


def find_again(path: Path) -> bool:
    """Say whether the file is there, and make it young: an old one may be cleared away."""
    try:
        os.utime(path)
    except OSError:
        # also one of another user, which the next writer puts its own in place of
        return False
    return True


def move(path: Path, target: Path) -> None:
    os.replace(path, target)
    sync_folder(target.parent)


def sync_folder(folder: Path) -> None:
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def _write(path: Path, content: bytes, place: Callable) -> None:
    # made anew with O_EXCL and mode 0600
    part, name = tempfile.mkstemp(prefix=".part-", dir=path.parent)
    try:
        with open(part, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        place(name, path)
    finally:
        Path(name).unlink(missing_ok=True)
    sync_folder(path.parent)
