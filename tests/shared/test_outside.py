"""What is kept outside the database: the newest checkpoint and every leaf up to it."""

from datetime import timedelta
from hashlib import sha256
from uuid import UUID

import pytest

from shared import checkpoint, durable, keys, outside
from shared.models import JournalHead
from shared.outside import OutsideSpoilt
from shared.tree import root_of
from tests.at_once import at_once
from tests.factories import MORNING

SITE = UUID(int=7)
LEAVES = [sha256(bytes([number])).digest() for number in range(40)]


def read(start, end):
    return LEAVES[start:end]


def signed(size, *, epoch=1, leaves=LEAVES, at=MORNING):
    said = {"site": SITE, "epoch": epoch, "size": size, "root": root_of(leaves[:size]), "at": at}
    return checkpoint.sign(keys.private_key(), **said)


def keep(*sizes):
    for size in sizes:
        outside.keep(signed(size), read)


@pytest.fixture
def folder(settings):
    return settings.CHECKPOINTS


def test_nothing_is_kept_at_first(folder):
    assert outside.newest(SITE) is None
    assert outside.is_behind(JournalHead(site_id=SITE)) is None
    assert (outside.leaves(SITE, 0, 9), folder.exists()) == ([], False)


def test_the_newest_stays_and_leaves_are_added(folder):
    keep(3, 10, 5)

    assert outside.newest(SITE) == signed(10)
    assert (folder / f"{SITE}.leaves").read_bytes() == b"".join(LEAVES[:10])
    assert outside.leaves(SITE, 2, 4) == LEAVES[2:4]
    assert outside.leaves(SITE, 8, 99) == LEAVES[8:10]


def test_a_later_checkpoint_of_the_same_size_takes_its_place():
    keep(3)
    later = signed(3, at=MORNING + timedelta(days=1))

    outside.keep(later, read)

    assert outside.newest(SITE) == later


@pytest.mark.parametrize(
    ("epoch", "size", "is_behind"),
    [(1, 9, True), (1, 10, False), (1, 11, False), (2, 4, False), (2, 10, False)],
)
def test_a_head_is_behind_by_epoch_then_size(epoch, size, is_behind):
    keep(10)
    head = JournalHead(site_id=SITE, epoch=epoch, size=size)

    assert outside.is_behind(head) == (signed(10) if is_behind else None)


def test_the_file_is_read_again_only_when_it_changed(folder, monkeypatch):
    keep(3)
    first = outside.newest(SITE)
    monkeypatch.setattr(outside, "_read", lambda path, site_id: "read again")

    assert outside.newest(SITE) is first
    durable.replace(folder / f"{SITE}.txt", signed(4).text.encode())

    assert outside.newest(SITE) == "read again"


def test_what_a_cut_short_write_left_is_written_anew(folder):
    keep(3)
    with (folder / f"{SITE}.leaves").open("ab") as file:
        file.write(bytes(32) + b"torn")

    keep(6)

    assert (folder / f"{SITE}.leaves").read_bytes() == b"".join(LEAVES[:6])


def test_leaves_that_were_lost_are_written_anew(folder):
    keep(6)
    (folder / f"{SITE}.leaves").unlink()

    keep(8)

    assert outside.leaves(SITE, 0, 99) == LEAVES[:8]


def test_what_an_epoch_left_behind_is_set_aside(folder):
    keep(10)
    other = [*LEAVES[:4], *reversed(LEAVES)]
    second = signed(6, epoch=2, leaves=other)

    outside.keep(second, lambda start, end: other[start:end])
    keep(12)

    assert outside.newest(SITE) == second
    assert outside.leaves(SITE, 0, 99) == other[:6]
    assert (folder / f"{SITE}.epoch-1.leaves").read_bytes() == b"".join(LEAVES[:10])
    assert checkpoint.read((folder / f"{SITE}.epoch-1.txt").read_text()) == signed(10)


def test_eight_at_once_keep_the_largest_with_its_leaves():
    sizes = [5, 40, 12, 3, 33, 21, 8, 17]

    at_once(*[lambda size=size: keep(size) for size in sizes])

    assert outside.newest(SITE) == signed(40)
    assert outside.leaves(SITE, 0, 99) == LEAVES


@pytest.mark.parametrize(
    "text",
    [
        "",
        "cart records checkpoint 1\n",
        "not a checkpoint",
    ],
)
def test_a_spoilt_checkpoint_is_named(folder, text):
    keep(3)
    durable.replace(folder / f"{SITE}.txt", text.encode())

    with pytest.raises(OutsideSpoilt, match=f"/{SITE}.txt holds no checkpoint"):
        outside.newest(SITE)


def test_a_checkpoint_that_nobody_signed_is_named(folder):
    keep(3)
    forged = signed(3).text.replace("size 3", "size 2")
    durable.replace(folder / f"{SITE}.txt", forged.encode())

    with pytest.raises(OutsideSpoilt, match=f"/{SITE}.txt is not signed for this site"):
        outside.newest(SITE)


def test_a_checkpoint_of_another_site_is_named(folder):
    keep(3)
    other = UUID(int=8)
    durable.replace(folder / f"{other}.txt", signed(3).text.encode())

    with pytest.raises(OutsideSpoilt, match=f"/{other}.txt is not signed for this site"):
        outside.newest(other)


def test_each_change_of_the_key_is_kept_once(folder):
    first, second = {"key": "a", "before": ""}, {"key": "b", "before": "a"}

    for value in (first, second, first):
        outside.keep_key_change(SITE, value)

    assert outside.key_changes(SITE) == [first, second]
    assert outside.key_changes(UUID(int=8)) == []
