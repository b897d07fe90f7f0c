"""A stream sealed under a key, in pieces, so that it is read and written in little memory.

AES-256-GCM (NIST SP 800-38D) over pieces of 1 MiB. The key of a file is HKDF-SHA256 (RFC 5869)
of the given key and the file's salt, and the nonce of a piece its number with one byte that is
1 in the last one alone: the STREAM construction (Hoang, Reyhanitabar, Rogaway and Vizar, CRYPTO
2015). So a piece that was changed, swapped, doubled or cut off is found out.
"""

import os
from hashlib import sha256

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from deploy.keeping.refused import OtherKey, Refused

KEY_BYTES = 32
PIECE_BYTES = 1024 * 1024
TAG_BYTES = 16
BEGINS = b"cart records backup, sealed 1\n"
SALT_BYTES, NAME_BYTES, CHECK_BYTES = 32, 16, 8
HEADER_BYTES = len(BEGINS) + SALT_BYTES + NAME_BYTES + CHECK_BYTES


class Sealing:
    """A file to write to, whose pieces go sealed into another; ``close`` writes the last one."""

    def __init__(self, file, key: bytes):
        salt = os.urandom(SALT_BYTES)
        about = BEGINS + salt + name_of(key)
        self._header = about + sha256(about).digest()[:CHECK_BYTES]
        self._file, self._cipher = file, AESGCM(_derived(key, salt, b"file"))
        self._number, self._rest = 0, bytearray()
        file.write(self._header)

    def write(self, data) -> int:
        self._rest += data
        # a full piece is held back: it may be the last
        while len(self._rest) > PIECE_BYTES:
            self._put(bytes(self._rest[:PIECE_BYTES]), is_last=False)
            del self._rest[:PIECE_BYTES]
        return len(data)

    def close(self) -> None:
        self._put(bytes(self._rest), is_last=True)

    def _put(self, piece, *, is_last):
        nonce = _nonce(self._number, is_last)
        self._file.write(self._cipher.encrypt(nonce, piece, self._header))
        self._number += 1


class Unsealing:
    """A file to read from, opened piece by piece. Raises Refused for what does not open."""

    def __init__(self, file, key: bytes):
        self._file, self._header = file, file.read(HEADER_BYTES)
        self._cipher = AESGCM(_derived(key, _salt_of(self._header, key), b"file"))
        self._number, self._text = 0, b""
        self._next = self._sealed_piece()

    def read(self, size: int) -> bytes:
        while len(self._text) < size and self._next is not None:
            self._text += self._opened()
        given, self._text = self._text[:size], self._text[size:]
        return given

    def _sealed_piece(self):
        return self._file.read(PIECE_BYTES + TAG_BYTES)

    def _opened(self):
        sealed, self._next = self._next, self._sealed_piece() or None
        is_last, number = self._next is None, self._number
        self._number += 1
        try:
            return self._cipher.decrypt(_nonce(number, is_last), sealed, self._header)
        except InvalidTag as error:
            raise Refused(self._said(sealed, number, is_last)) from error

    def _said(self, sealed, number, is_last):
        if is_last and (len(sealed) < TAG_BYTES or self._opens(sealed, number)):
            return "The file is cut short: take another copy of it."
        if is_last:
            return "The file is cut short, or its end was changed: take another copy of it."
        return f"The file was changed in its {number + 1}. MiB: take another copy of it."

    def _opens(self, sealed, number):
        """Say whether a piece at the end is one from the middle."""
        try:
            self._cipher.decrypt(_nonce(number, False), sealed, self._header)
        except InvalidTag:
            return False
        return True


def name_of(key: bytes) -> bytes:
    """Return by what a file says which key it is sealed with; it tells nothing of the key."""
    return _derived(key, b"", b"name")[:NAME_BYTES]


def _salt_of(header, key):
    about, check = header[:-CHECK_BYTES], header[-CHECK_BYTES:]
    if len(header) < HEADER_BYTES:
        raise Refused("The file is cut short: take another copy of it.")
    if sha256(about).digest()[:CHECK_BYTES] != check:
        raise Refused("The file was changed at its beginning: take another copy of it.")
    if about[-NAME_BYTES:] != name_of(key):
        raise OtherKey("The backup is sealed with another key: give that one with --key.")
    return about[len(BEGINS) : -NAME_BYTES]


def _derived(key, salt, use):
    about = b"cart records backup 1 " + use
    return HKDF(algorithm=SHA256(), length=KEY_BYTES, salt=salt, info=about).derive(key)


def _nonce(number, is_last):
    return number.to_bytes(11, "big") + bytes([is_last])
