"""The checker's own Ed25519 against RFC 8032 section 7.1, and against the library's."""

import random

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from fleet.checkers import check

# RFC 8032 section 7.1: public key, message, signature
VECTORS = {
    "TEST 1": (
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555"
        "fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    "TEST 2": (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da0"
        "85ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    "TEST 3": (
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac1"
        "8ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
    "TEST SHA(abc)": (
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2"
        "192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b5890"
        "9351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
    ),
}


@pytest.mark.parametrize("name", VECTORS)
def test_vectors_of_the_rfc_hold(name):
    key, message, signature = (bytes.fromhex(value) for value in VECTORS[name])

    assert check.is_signed(key, signature, message)
    assert not check.is_signed(key, signature, message + b"x")


def library_says(key, signature, message):
    try:
        Ed25519PublicKey.from_public_bytes(key).verify(signature, message)
    except (InvalidSignature, ValueError):
        return False
    return True


def test_random_and_spoilt_signatures_are_judged_as_the_library_judges_them():
    source = random.Random(8032)
    judged = []
    for _ in range(60):
        private = Ed25519PrivateKey.from_private_bytes(source.randbytes(32))
        key, message = private.public_key().public_bytes_raw(), source.randbytes(40)
        signature = bytearray(private.sign(message))
        if source.random() < 0.6:
            signature[source.randrange(64)] ^= 1 << source.randrange(8)
        judged.append(check.is_signed(key, bytes(signature), message))

        assert judged[-1] == library_says(key, bytes(signature), message)
    assert {True, False} == set(judged)


PRIVATE = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
KEY, SIGNATURE = PRIVATE.public_key().public_bytes_raw(), PRIVATE.sign(b"said")


def test_factor_beyond_the_group_is_refused():
    """RFC 8032 section 5.1.7: S lies below the order, so that nobody can write it otherwise."""
    factor = int.from_bytes(SIGNATURE[32:], "little") + check.GROUP

    assert check.is_signed(KEY, SIGNATURE, b"said")
    assert not check.is_signed(KEY, SIGNATURE[:32] + factor.to_bytes(32, "little"), b"said")


@pytest.mark.parametrize("y", [check.FIELD, check.FIELD + 1, 2**255 - 1])
def test_point_that_is_not_written_in_its_own_form_is_refused(y):
    """RFC 8032 section 5.1.3: y is below the prime."""
    assert check.point_of(y.to_bytes(32, "little")) is None


def test_nothing_with_a_sign_is_no_point():
    """RFC 8032 section 5.1.3: x = 0 has no sign."""
    assert check.point_of((1).to_bytes(32, "little")) == (0, 1, 1, 0)
    assert check.point_of((1 | 1 << 255).to_bytes(32, "little")) is None


def test_key_that_anybody_can_sign_for_is_refused():
    """Under the neutral point every S has its R; stricter than the RFC asks."""
    neutral = (1).to_bytes(32, "little")
    forged = check.bytes_of(check.BASE) + (1).to_bytes(32, "little")

    assert library_says(neutral, forged, b"anything")
    assert not check.is_signed(neutral, forged, b"anything")


@pytest.mark.parametrize("size", [0, 31, 33])
def test_key_of_another_length_is_refused(size):
    assert not check.is_signed(bytes(size), SIGNATURE, b"said")
    assert not check.is_signed(KEY, SIGNATURE[:63], b"said")
