"""A checkpoint's text: written, kept in a mail that was answered, spoilt, read again."""

from datetime import UTC, datetime, timedelta, timezone
from uuid import UUID

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st

from shared import checkpoint
from shared.checkpoint import NoCheckpoint, Statement

PRIVATE = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
SITE = UUID("01935e2c-7f00-7000-8000-00000000b71d")
AT = datetime(2026, 11, 25, 6, 0, 0, 5, tzinfo=UTC)
SAID = {"site": SITE, "epoch": 1, "size": 11051, "root": bytes(range(32, 64)), "at": AT}
SIGNED = checkpoint.sign(PRIVATE, **SAID)
MAIL = """On Wed, 25 Nov 2026 at 06:00, Cart lift records wrote:
> Keep this text:
>
{}
> -- 
> a signature of another kind
Thank you!
"""


def test_the_text_is_eight_lines():
    assert SIGNED.text == (
        "cart records checkpoint 1\n"
        "site 01935e2c-7f00-7000-8000-00000000b71d\n"
        "epoch 1\n"
        "size 11051\n"
        f"root {SAID['root'].hex()}\n"
        "time 2026-11-25T06:00:00.000005Z\n"
        f"key {PRIVATE.public_key().public_bytes_raw().hex()}\n"
        f"signature {SIGNED.signature.hex()}\n"
    )
    assert SIGNED.is_signed()


@given(
    st.builds(
        Statement,
        site=st.uuids(),
        epoch=st.integers(1, 999_999_999),
        size=st.integers(0, 10**16 - 1),
        root=st.binary(min_size=32, max_size=32),
        at=st.datetimes(min_value=datetime(1000, 1, 1), timezones=st.just(UTC)),
        key=st.binary(min_size=32, max_size=32),
        signature=st.binary(min_size=64, max_size=64),
    )
)
def test_what_was_written_is_read_again(statement):
    assert checkpoint.read(statement.text) == statement


def test_a_moment_of_another_zone_is_written_in_utc():
    there = AT.astimezone(timezone(timedelta(hours=-5)))

    assert checkpoint.sign(PRIVATE, **SAID | {"at": there}).text == SIGNED.text


@pytest.mark.parametrize("mark", ["", "> ", ">> ", "> > ", ">", "   ", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_it_is_found_in_a_mail(mark, ending):
    quoted = "\n".join(f"{mark}{line}" for line in SIGNED.text.splitlines())

    found = checkpoint.read(MAIL.format(quoted).replace("\n", ending))

    assert (found, found.is_signed()) == (SIGNED, True)


def test_several_are_read_in_their_order():
    later = checkpoint.sign(PRIVATE, **SAID | {"size": 11052})

    text = f"{SIGNED.text}\n{later.text}\n"

    assert checkpoint.read_all(text) == [SIGNED, later]
    assert checkpoint.read_all("") == []
    with pytest.raises(NoCheckpoint, match=r"^the text holds 2 checkpoints, not one$"):
        checkpoint.read(text)


@pytest.mark.parametrize(
    ("name", "spoilt"),
    [
        ("site", "site brindlewick"),
        ("epoch", "epoch 0"),
        ("epoch", "epoch one"),
        ("size", "size 011"),
        ("size", "size -1"),
        ("size", "size ١"),
        ("root", "root abc"),
        ("root", f"root {'A' * 64}"),
        ("time", "time 2026-11-25 06:00"),
        ("time", f"time ٢026-11-25T06:00:00.{'0' * 6}Z"),
        ("key", f"key {'0' * 63}"),
        ("signature", f"signature {'0' * 129}"),
        ("signature", ""),
        ("root", ""),
        ("time", "a line between"),
    ],
)
def test_a_spoilt_line_is_named(name, spoilt):
    lines = [spoilt if line.startswith(name) else line for line in SIGNED.text.splitlines()]

    with pytest.raises(NoCheckpoint, match=f"^a checkpoint's line '{name}' is missing or spoilt"):
        checkpoint.read("\n".join(lines))


def test_lines_in_another_order_or_cut_off_are_refused():
    lines = SIGNED.text.splitlines()

    for other in (lines[:-1], [lines[0], *lines[2:], lines[1]], lines[:1]):
        with pytest.raises(NoCheckpoint, match="is missing or spoilt"):
            checkpoint.read("\n".join(other))


def test_a_time_that_is_none_is_refused():
    with pytest.raises(NoCheckpoint, match=r"^a checkpoint's time is no moment: 2026-02-30T"):
        checkpoint.read(SIGNED.text.replace("2026-11-25", "2026-02-30"))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("epoch 1", "epoch 2"),
        ("size 11051", "size 11050"),
        ("root 20", "root 21"),
        ("00.000005Z", "00.000006Z"),
        ("b71d\n", "b71e\n"),
    ],
)
def test_a_changed_line_is_not_what_was_signed(old, new):
    changed = SIGNED.text.replace(old, new)

    assert changed != SIGNED.text
    assert not checkpoint.read(changed).is_signed()


def test_another_key_did_not_sign_it():
    other = Ed25519PrivateKey.generate().public_key().public_bytes_raw().hex()

    assert not checkpoint.read(SIGNED.text.replace(SIGNED.key.hex(), other)).is_signed()


@given(st.text(max_size=300))
def test_any_other_text_holds_none_or_is_refused_by_name(text):
    with pytest.raises(NoCheckpoint):
        checkpoint.read(text)
    with pytest.raises(NoCheckpoint):
        checkpoint.read(f"{checkpoint.HEADING}\n{text}")
