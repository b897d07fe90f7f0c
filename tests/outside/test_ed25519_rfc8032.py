"""The signatures of checkpoints against RFC 8032 section 7.1, TEST 1, 2, 3 and SHA(abc)."""

from datetime import UTC, datetime
from uuid import UUID

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from shared import checkpoint, keys

VECTORS = {
    "TEST 1": (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555f"
        "b8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    "TEST 2": (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da08"
        "5ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    "TEST 3": (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18"
        "ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
    "TEST SHA(abc)": (
        "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a"
        "2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909"
        "351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
    ),
}


def parts(name):
    return [bytes.fromhex(text) for text in VECTORS[name]]


@pytest.mark.parametrize("name", VECTORS)
def test_the_key_and_the_signature_come_out_the_same(name):
    secret, public, message, signature = parts(name)
    private = Ed25519PrivateKey.from_private_bytes(secret)

    assert (keys.hex_of(private), private.sign(message)) == (public.hex(), signature)
    Ed25519PublicKey.from_public_bytes(public).verify(signature, message)


@pytest.mark.parametrize("name", VECTORS)
def test_one_changed_byte_is_refused(name):
    _secret, public, message, signature = parts(name)
    key = Ed25519PublicKey.from_public_bytes(public)

    for place in range(len(signature)):
        changed = bytearray(signature)
        changed[place] ^= 1
        with pytest.raises(InvalidSignature):
            key.verify(bytes(changed), message)
    with pytest.raises(InvalidSignature):
        key.verify(signature, message + b"\x00")


@pytest.mark.parametrize("name", VECTORS)
def test_a_checkpoint_is_signed_with_that_key_over_its_own_lines(name):
    secret, public, _message, _signature = parts(name)
    said = {"site": UUID(int=7), "epoch": 1, "size": 3, "root": bytes(32)}
    at = datetime(2026, 3, 2, 13, 0, tzinfo=UTC)

    statement = checkpoint.sign(Ed25519PrivateKey.from_private_bytes(secret), at=at, **said)

    lines = statement.text.encode("ascii").splitlines(keepends=True)
    assert lines[6] == f"key {public.hex()}\n".encode()
    key = Ed25519PublicKey.from_public_bytes(public)
    key.verify(bytes.fromhex(lines[7].split()[1].decode()), b"".join(lines[:7]))
