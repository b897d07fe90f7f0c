"""The private key that signs checkpoints: Ed25519, in a folder that only the tool may read.

``signing.key`` (PKCS#8, PEM) is made at first use. A change of the key writes the new one as
``next.key`` and moves it into place once the journal names it. The old private key is then
gone: nothing may be signed with it any more, and its public half stands in the journal.
"""

import fcntl
import os
from contextlib import contextmanager
from pathlib import Path

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import (
    Ed25519PrivateKey,
    Ed25519PublicKey,
)
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from django.conf import settings

from shared import durable

SIGNING, NEXT = "signing.key", "next.key"
OF_KEYS = (".key", ".lock")
FOLDER_MODE = 0o700
OTHERS = 0o077


class KeyUnusable(Exception):
    """The key cannot be used; the one line says what to do."""


def private_key() -> Ed25519PrivateKey:
    """Return the key that signs, made if there is none. Raises KeyUnusable."""
    path = _folder() / SIGNING
    try:
        if not path.exists():
            durable.make(path, _pem(Ed25519PrivateKey.generate()))
    except OSError as error:
        raise KeyUnusable(f"cannot write {path}: {error.strerror}") from error
    return _read(path)


def public_hex() -> str:
    return hex_of(private_key())


def is_signed(public: str, signature: str, data: bytes) -> bool:
    """Say whether a signature is that of a public key, both as hex."""
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public))
        key.verify(bytes.fromhex(signature), data)
    except (ValueError, InvalidSignature):
        return False
    return True


def hex_of(private: Ed25519PrivateKey) -> str:
    """Return the public half as hex."""
    return private.public_key().public_bytes_raw().hex()


def public_in(path: Path) -> str:
    """Return the public half of the key in a file as hex, "" where it holds none."""
    private = _loaded(path.read_bytes())
    return hex_of(private) if private else ""


def make_next() -> Ed25519PrivateKey:
    """Write the key that is to follow, in place of one left by a change cut short."""
    private = Ed25519PrivateKey.generate()
    path = _folder() / NEXT
    try:
        with _held("next.lock"):
            durable.replace(path, _pem(private))
    except OSError as error:
        raise KeyUnusable(f"cannot write {path}: {error.strerror}") from error
    return private


def move_next(public: str) -> None:
    """Let the key that was to follow sign from now on, if this is its public half."""
    path = _folder() / NEXT
    if not path.exists():
        return
    # between the look and the move another one may take its place
    with _held("next.lock"):
        if path.exists() and hex_of(_read(path)) == public:
            durable.move(path, path.with_name(SIGNING))


@contextmanager
def changing():
    """Hold the folder for one change of the key. Raises KeyUnusable when another runs."""
    try:
        with _held("change.lock", fcntl.LOCK_NB):
            yield
    except BlockingIOError as error:
        raise KeyUnusable("the key is being changed already: wait for that") from error


@contextmanager
def _held(name, how=0):
    with (_folder() / name).open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX | how)
        yield


def _folder() -> Path:
    folder = Path(settings.KEYS)
    try:
        folder.mkdir(mode=FOLDER_MODE, parents=True, exist_ok=True)
        is_open = folder.stat().st_mode & OTHERS
        is_ours = is_open and _is_ours(folder)
    except OSError as error:
        raise KeyUnusable(f"cannot make the folder {folder}: {error.strerror}") from error
    if is_ours:
        raise KeyUnusable(f"others may look into the folder of the key: run chmod 700 {folder}")
    if is_open:
        raise KeyUnusable(f"others may look into {folder}, no folder for keys: choose another path")
    return folder


def _is_ours(folder):
    """Whether a folder is for keys alone: to close any other one would harm its users."""
    names = os.listdir(folder)
    is_own = folder.stat().st_uid == os.geteuid()
    return SIGNING in names or (is_own and all(name.endswith(OF_KEYS) for name in names))


def _pem(private: Ed25519PrivateKey) -> bytes:
    return private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def _read(path: Path) -> Ed25519PrivateKey:
    try:
        with path.open("rb") as file:
            mode = os.fstat(file.fileno()).st_mode
            pem = file.read()
    except OSError as error:
        raise KeyUnusable(f"cannot read {path}: {error.strerror}") from error
    private = _loaded(pem)
    if private is None:
        raise KeyUnusable(f"{path} holds no Ed25519 key: put a copy of the right file there")
    if mode & OTHERS:
        raise KeyUnusable(f"others may read the key: run chmod 600 {path}")
    return private


def _loaded(pem):
    try:
        private = load_pem_private_key(pem, password=None)
    except (ValueError, TypeError, UnsupportedAlgorithm):
        return None
    return private if isinstance(private, Ed25519PrivateKey) else None
