"""The key that backups are sealed with: 32 random bytes as base64, in a file of its own."""

import base64
import os
import secrets
from pathlib import Path

from deploy.keeping.refused import Refused
from deploy.keeping.sealed import KEY_BYTES
from shared import durable
from shared.keys import OTHERS

MOST_BYTES = 1000


def make(path: Path) -> None:
    """Write a new key. Raises Refused where a file is there already."""
    if path.exists():
        raise Refused(f"{path} is there already: name a file that is not.")
    try:
        durable.make(path, base64.b64encode(secrets.token_bytes(KEY_BYTES)) + b"\n")
    except OSError as error:
        raise Refused(f"Cannot write {path}: {error.strerror}.") from error


def read(path: Path) -> bytes:
    """Return the key in a file that its owner alone may read."""
    try:
        with path.open("rb") as file:
            mode, text = os.fstat(file.fileno()).st_mode, file.read(MOST_BYTES)
    except OSError as error:
        raise Refused(f"Cannot read the key {path}: {error.strerror}.") from error
    key = _decoded(text)
    # first, so that nobody closes a file that is not of our making
    if len(key) != KEY_BYTES:
        said = "choose another path, or make one with manage.py backup --make-key FILE."
        raise Refused(f"{path} holds no key: {said}")
    if mode & OTHERS:
        raise Refused(f"Others may read the key: run chmod 600 {path}")
    return key


def _decoded(text):
    try:
        return base64.b64decode(text.strip(), validate=True)
    except ValueError:
        return b""
