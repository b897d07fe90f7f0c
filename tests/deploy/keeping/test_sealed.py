"""The sealed stream: what was put in comes out, and nothing else does."""

import io
import os

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from deploy.keeping import sealed
from deploy.keeping.refused import Refused
from deploy.keeping.sealed import HEADER_BYTES, PIECE_BYTES, TAG_BYTES, Sealing, Unsealing

KEY = bytes(range(32))
WHOLE = PIECE_BYTES + TAG_BYTES


def sealed_of(text, key=KEY):
    file = io.BytesIO()
    out = Sealing(file, key)
    for start in range(0, len(text), 700_001):
        out.write(text[start : start + 700_001])
    out.close()
    return file.getvalue()


def opened(content, key=KEY):
    reader, found = Unsealing(io.BytesIO(content), key), b""
    while data := reader.read(300_000):
        found += data
    return found


def pieces(content):
    rest = content[HEADER_BYTES:]
    return [rest[start : start + WHOLE] for start in range(0, len(rest), WHOLE)]


def together(content, parts):
    return content[:HEADER_BYTES] + b"".join(parts)


@pytest.mark.parametrize(
    "size", [0, 1, PIECE_BYTES - 1, PIECE_BYTES, PIECE_BYTES + 1, 3 * PIECE_BYTES]
)
def test_what_goes_in_comes_out(size):
    text = os.urandom(size)

    content = sealed_of(text)

    assert opened(content) == text
    assert len(content) == HEADER_BYTES + size + TAG_BYTES * max(1, -(-size // PIECE_BYTES))


def test_another_hand_opens_it_by_the_rfcs_alone():
    """RFC 5869 and SP 800-38D, each step written out."""
    content = sealed_of(b"a few words")
    header, piece = content[:HEADER_BYTES], content[HEADER_BYTES:]
    salt = header[len(sealed.BEGINS) : len(sealed.BEGINS) + 32]

    key = HKDF(SHA256(), 32, salt, b"cart records backup 1 file").derive(KEY)
    nonce = bytes(11) + b"\x01"

    assert AESGCM(key).decrypt(nonce, piece, header) == b"a few words"


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("a piece dropped", lambda one: [one[0], *one[2:]]),
        ("two swapped", lambda one: [one[1], one[0], *one[2:]]),
        ("one doubled", lambda one: [one[0], one[0], *one[1:]]),
        ("the last cut off", lambda one: one[:-1]),
        ("all cut off", lambda one: []),
        ("the last one cut", lambda one: [*one[:-1], one[-1][:-1]]),
        ("the last one twice", lambda one: [*one, one[-1]]),
        ("a byte more", lambda one: [*one, b"\0"]),
    ],
)
def test_pieces_out_of_place_are_found(name, change):
    content = sealed_of(os.urandom(3 * PIECE_BYTES + 5))

    with pytest.raises(Refused):
        opened(together(content, change(pieces(content))))


def test_pieces_of_another_file_do_not_fit():
    one, other = (sealed_of(bytes(2 * PIECE_BYTES)) for _ in range(2))

    with pytest.raises(Refused):
        opened(together(one, [pieces(one)[0], pieces(other)[1]]))


def test_every_bit_of_a_short_file_counts():
    content = sealed_of(b"words")

    for bit in range(8 * len(content)):
        bad = bytearray(content)
        bad[bit // 8] ^= 1 << bit % 8
        if bytes(bad[: len(sealed.BEGINS)]) != sealed.BEGINS:
            # such a file is not taken for a sealed one
            continue
        with pytest.raises(Refused):
            opened(bytes(bad))


def test_another_key_is_told_from_damage():
    with pytest.raises(Refused, match="sealed with another key"):
        opened(sealed_of(b"words"), bytes(32))


def test_two_files_under_a_key_share_nothing():
    one, other = sealed_of(bytes(100)), sealed_of(bytes(100))

    assert one[HEADER_BYTES:] != other[HEADER_BYTES:]
