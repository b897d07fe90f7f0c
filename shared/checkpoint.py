"""A checkpoint as text that people can keep, mail and print: written, signed, read. Pure.

Eight lines, each ended by a line feed; the signature (Ed25519, RFC 8032) is over the bytes of
the first seven::

    cart records checkpoint 1
    site 01935e2c-7f00-7000-8000-00000000b71d
    epoch 1
    size 11051
    root 64 hex digits: the root of the hash tree (RFC 9162) over the first ``size`` leaves
    time 2026-11-25T06:00:00.000000Z
    key 64 hex digits: the public key
    signature 128 hex digits
"""

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import UUID

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

HEADING = "cart records checkpoint 1"
LINES = 8
TIME = "%Y-%m-%dT%H:%M:%S.%fZ"
FORMS = {
    "site": r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}",
    "epoch": r"[1-9][0-9]{0,8}",
    "size": r"0|[1-9][0-9]{0,15}",
    "root": r"[0-9a-f]{64}",
    "time": r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z",
    "key": r"[0-9a-f]{64}",
    "signature": r"[0-9a-f]{128}",
}


class NoCheckpoint(ValueError):
    """A text does not hold a checkpoint in the form that it is written in."""


@dataclass(frozen=True)
class Statement:
    """What a checkpoint says: of a site's journal in an epoch, its size and root at a time.

    ``root`` and ``key`` are 32 bytes, ``signature`` 64; without a signature it is a draft.
    """

    site: UUID
    epoch: int
    size: int
    root: bytes
    at: datetime
    key: bytes
    signature: bytes = b""

    def signed_bytes(self) -> bytes:
        lines = [
            HEADING,
            f"site {self.site}",
            f"epoch {self.epoch}",
            f"size {self.size}",
            f"root {self.root.hex()}",
            f"time {time_of(self.at)}",
            f"key {self.key.hex()}",
        ]
        return "".join(f"{line}\n" for line in lines).encode("ascii")

    @property
    def text(self) -> str:
        return f"{self.signed_bytes().decode('ascii')}signature {self.signature.hex()}\n"

    def is_signed(self) -> bool:
        """Whether the signature is that of the key which it names itself."""
        try:
            Ed25519PublicKey.from_public_bytes(self.key).verify(self.signature, self.signed_bytes())
        except InvalidSignature:
            return False
        return True


def time_of(at: datetime) -> str:
    """Return a moment as a checkpoint says it: "2026-11-25T06:00:00.000000Z"."""
    return at.astimezone(UTC).strftime(TIME)


def sign(private: Ed25519PrivateKey, *, site, epoch, size, root, at) -> Statement:
    """Return a signed statement; ``key`` is the public half of ``private``."""
    key = private.public_key().public_bytes_raw()
    draft = Statement(site, epoch, size, root, at, key)
    return Statement(site, epoch, size, root, at, key, private.sign(draft.signed_bytes()))


def read(text: str) -> Statement:
    """Return the one checkpoint in a text; lines around it, and spaces, may be a mail's.

    Raises NoCheckpoint when there is none, more than one, or a line of another form.
    """
    found = read_all(text)
    if len(found) != 1:
        raise NoCheckpoint(f"the text holds {len(found)} checkpoints, not one")
    return found[0]


def read_all(text: str) -> list[Statement]:
    """Return every checkpoint in a text, in its order. Raises NoCheckpoint as read does."""
    # a mail that was answered carries marks of quoting before each line
    lines = [line.strip().lstrip("> ") for line in text.splitlines()]
    starts = [place for place, line in enumerate(lines) if line == HEADING]
    return [_statement(lines[start : start + LINES]) for start in starts]


def _statement(lines: list[str]) -> Statement:
    said = {}
    for (name, form), line in zip(FORMS.items(), [*lines[1:], *[""] * LINES], strict=False):
        value = line.removeprefix(f"{name} ")
        if value == line or not re.fullmatch(form, value):
            raise NoCheckpoint(f"a checkpoint's line {name!r} is missing or spoilt: {line[:80]!r}")
        said[name] = value
    return Statement(
        UUID(said["site"]),
        int(said["epoch"]),
        int(said["size"]),
        bytes.fromhex(said["root"]),
        _moment(said["time"]),
        bytes.fromhex(said["key"]),
        bytes.fromhex(said["signature"]),
    )


def _moment(text):
    try:
        return datetime.strptime(text, TIME).replace(tzinfo=UTC)
    except ValueError as error:
        raise NoCheckpoint(f"a checkpoint's time is no moment: {text}") from error
