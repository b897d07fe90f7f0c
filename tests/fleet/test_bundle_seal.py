"""What seals a bundle: manifest, signature, fingerprint, entries, checkpoint and proofs.

Signatures are checked with cryptography, leaves with hashlib, the root by RFC 9162's own
recursive definition: none of it with the code that wrote them.
"""

import hashlib
import json
import zipfile

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from django.conf import settings

from fleet.actions import bundles
from fleet.actions.meters import add_reading
from fleet.bundle import archive
from fleet.bundle.archive import write_tables
from fleet.bundle.scope import Scope
from fleet.kinds import Cut
from shared import checkpoint, keys
from shared.models import Checkpoint, Entry
from shared.sealing import make_checkpoint
from shared.tree import is_consistent
from tests.fleet.bundling import Fleet, bundled, no_papers, on
from tests.fleet.zips import FIELDS, taken_apart

pytestmark = pytest.mark.django_db

NOW = on(3, 20)
FIRST = ["README.txt", "tables/columns.csv", "tables/columns.csv-metadata.json"]
LAST = ["check/check.py", "check/check.html", "checkpoint.txt", "manifest.json"]


@pytest.fixture
def fleet():
    return Fleet("harbour")


@pytest.fixture
def read(fleet, tmp_path):
    fleet.tell_everything()
    return bundled(fleet.site, tmp_path, NOW)


def sha256(data):
    return hashlib.sha256(data).hexdigest()


def root_of(leaves):
    """RFC 9162 section 2.1.1, as written there."""
    if len(leaves) <= 1:
        return leaves[0] if leaves else hashlib.sha256().digest()
    split = 1
    while split * 2 < len(leaves):
        split *= 2
    both = root_of(leaves[:split]) + root_of(leaves[split:])
    return hashlib.sha256(b"\1" + both).digest()


def test_every_header_is_that_of_the_form(read, tmp_path):
    entries, _end = taken_apart((tmp_path / "bundle.zip").read_bytes())

    assert [local["name"] for local, _central, _content in entries] == list(read.members)
    for local, central, content in entries:
        assert [local[name] for name in FIELDS] == [central[name] for name in FIELDS]
        fixed = ("needed", "flags", "time", "date", "extra")
        assert [local[name] for name in fixed] == [20, 0, 0, 33, 0]
        assert len(content) == local["size"]


def test_files_stand_in_their_order(read):
    names = list(read.members)

    assert names[:3] == FIRST
    assert [*names[-5:]] == [*LAST, "manifest.signature"]
    journal = [name for name in names if name.startswith("journal/")]
    assert journal == ["journal/entries.jsonl", "journal/checkpoints.txt", "journal/proofs.json"]
    tables = [name for name in names if name.startswith("tables/")]
    assert tables[1::2] == [f"{name}-metadata.json" for name in tables[::2]]


def test_manifest_lists_all_files_and_is_signed(read):
    told = [(one["name"], one["bytes"], one["sha256"]) for one in read.manifest["files"]]
    held = [(name, len(data), sha256(data)) for name, data in read.members.items()]
    assert told == held[:-2]

    said = dict(line.split() for line in read.members["manifest.signature"].decode().splitlines())
    assert said["key"] == keys.public_hex()
    public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(said["key"]))
    public.verify(bytes.fromhex(said["signature"]), read.members["manifest.json"])


def test_manifest_says_the_scope(fleet, read):
    said = {name: value for name, value in read.manifest.items() if name != "files"}

    moment = "2026-03-20T13:00:00.000000+00:00"
    assert said == {
        "form": 2,
        "site": str(fleet.site.pk),
        "site_name": "Harbour",
        "site_slug": "harbour",
        "zone": "America/New_York",
        "happened_by": moment,
        "known_by": moment,
        "from_day": None,
        "lifted_only": False,
        "with_names": False,
        "entries": Entry.objects.filter(site=fleet.site).count(),
        "content": said["content"],
        "made_at": moment,
        "made_by": "a test",
        "tool": "cart-records 1",
    }


def test_fingerprint_is_over_tables_entries_and_photos(read):
    content = [one["name"] for one in read.manifest["files"] if one["content"]]
    wanted = [
        name
        for name in read.members
        if name.startswith(("tables/", "photos/")) or name == "journal/entries.jsonl"
    ]
    assert content == wanted

    lines = "".join(f"{sha256(read.members[name])}  {name}\n" for name in wanted)
    assert read.manifest["content"] == sha256(lines.encode())


def test_entries_are_the_stored_ones_and_their_root_is_signed(fleet, read):
    stored = Entry.objects.filter(site=fleet.site).order_by("seq")
    lines = read.members["journal/entries.jsonl"].split(b"\n")
    assert lines.pop() == b""
    assert len(lines) == len(stored) > 50
    for line, entry in zip(lines, stored, strict=True):
        said = json.loads(line)
        body = bytes(entry.body)
        salt, leaf = bytes.fromhex(said["salt"]), bytes.fromhex(said["leaf"])
        assert line == b'{"body":%b,"leaf":"%b","salt":"%b","seq":%d}' % (
            body,
            leaf.hex().encode(),
            salt.hex().encode(),
            entry.seq,
        )
        assert hashlib.sha256(b"\0" + salt + body).digest() == leaf

    signed = checkpoint.read(read.members["checkpoint.txt"].decode())
    assert signed.size == len(lines) and signed.is_signed()
    assert signed.root == root_of([bytes.fromhex(one["leaf"]) for one in read.lines])


def test_only_what_was_known_is_in_the_journal(fleet, tmp_path):
    carts = fleet.tell_everything()
    then = bundled(fleet.site, tmp_path, on(3, 5), made_at=NOW)
    add_reading(carts["10"], hours=500, by=fleet.mechanic, at=NOW)

    again = bundled(fleet.site, tmp_path, on(3, 5), made_at=NOW)

    known = Entry.objects.filter(site=fleet.site, received_at__lte=on(3, 5)).count()
    assert len(then.lines) == known < Entry.objects.filter(site=fleet.site).count()
    assert again.lines == then.lines
    assert again.manifest["content"] == then.manifest["content"]


def test_nothing_recorded_yet_is_a_bundle_of_no_entries(fleet, tmp_path):
    read = bundled(fleet.site, tmp_path, on(1, 1), made_at=NOW)

    assert read.members["journal/entries.jsonl"] == b""
    signed = checkpoint.read(read.members["checkpoint.txt"].decode())
    assert (signed.size, signed.root) == (0, hashlib.sha256().digest())


def test_whole_zip_differs_in_what_tells_when_it_was_made_alone(fleet, tmp_path):
    fleet.tell_everything()
    first = bundled(fleet.site, tmp_path, NOW, made_at=NOW)
    second = bundled(fleet.site, tmp_path, NOW, made_at=on(3, 21))

    other = {name for name in first.members if first.members[name] != second.members[name]}
    assert other == {
        "README.txt",
        "journal/checkpoints.txt",
        "journal/proofs.json",
        "checkpoint.txt",
        "manifest.json",
        "manifest.signature",
    }


def test_earlier_checkpoints_and_proofs_lead_to_this_one(fleet, tmp_path):
    make_checkpoint(fleet.site, at=on(3, 1), cause=Checkpoint.Cause.DAILY)
    fleet.tell_everything()
    make_checkpoint(fleet.site, at=on(3, 15), cause=Checkpoint.Cause.DAILY)
    bundled(fleet.site, tmp_path, on(3, 6), made_at=on(3, 16))
    read = bundled(fleet.site, tmp_path, NOW)

    text = read.members["journal/checkpoints.txt"].decode()
    earlier = checkpoint.read_all(text)
    assert text == "".join(f"{one.text}\n" for one in earlier)
    assert [one.at.day for one in earlier] == [1, 15, 16]
    signed = checkpoint.read(read.members["checkpoint.txt"].decode())
    proofs = json.loads(read.members["journal/proofs.json"])
    # the oldest one's, and the one made with a bundle
    assert [one["size"] for one in proofs] == [earlier[0].size, earlier[2].size]
    for proof in proofs:
        hashes = [bytes.fromhex(one) for one in proof["hashes"]]
        about = (proof["size"], bytes.fromhex(proof["root"]), signed.size, signed.root)
        assert is_consistent(*about, hashes)


def test_later_checkpoint_is_not_in_a_bundle_of_before(fleet, tmp_path):
    fleet.tell_everything()
    bundled(fleet.site, tmp_path, NOW)

    read = bundled(fleet.site, tmp_path, on(3, 5), made_at=NOW)

    assert read.members["journal/checkpoints.txt"] == b""
    assert read.members["journal/proofs.json"] == b"[]"


def test_journal_that_is_not_what_was_signed_makes_no_bundle(fleet, tmp_path, monkeypatch):
    fleet.tell_everything()
    cut = Cut(NOW, NOW)
    spoilt = make_checkpoint(fleet.site, at=NOW, cause=Checkpoint.Cause.BUNDLE)
    spoilt.root = bytes(32)
    monkeypatch.setattr(bundles, "make_checkpoint", lambda *args, **more: spoilt)

    with pytest.raises(bundles.CannotBeMade, match="run verify_history"):
        bundles.make(
            Scope(fleet.site, cut),
            tmp_path / "bundle.zip",
            at=NOW,
            by="a test",
            progress=lambda percent: None,
            write_papers=no_papers,
        )

    assert [path.name for path in tmp_path.iterdir() if path.name != "keys"] == []


def test_zip_is_sound_by_another_reader(read, tmp_path):
    with zipfile.ZipFile(tmp_path / "bundle.zip") as archive:
        assert archive.testzip() is None


def test_a_key_that_is_changed_meanwhile_signs_no_half(fleet, tmp_path, monkeypatch):
    def rotated(*args, **more):
        monkeypatch.setattr(settings, "KEYS", tmp_path / "another")
        return write_tables(*args, **more)

    monkeypatch.setattr(archive, "write_tables", rotated)

    with pytest.raises(bundles.CannotBeMade, match="The key that signs changed while"):
        bundled(fleet.site, tmp_path, NOW)
    assert not (tmp_path / "bundle.zip").exists()
