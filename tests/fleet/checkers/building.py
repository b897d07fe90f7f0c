"""Audit bundles built from the form alone, without the tool's writer, whole or spoilt."""

import csv
import hashlib
import io
import json
import random
import zipfile
import zlib
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from uuid import UUID

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from shared import checkpoint
from shared.tree import Tree

ENTRIES, CHECKPOINTS, PROOFS = (
    "journal/entries.jsonl",
    "journal/checkpoints.txt",
    "journal/proofs.json",
)
ELSEWHERE = "journal/elsewhere.txt"
READINGS, REGISTER = "tables/readings.csv", "tables/register.csv"
SITE = "01935e2c-7f00-7000-8000-00000000b71d"
OTHER_SITE = "01935e2c-7f00-7000-8000-0000000000ff"
START = datetime(2026, 3, 2, 13, tzinfo=UTC)
KEYS = [Ed25519PrivateKey.from_private_bytes(bytes([n]) * 32) for n in range(1, 5)]
KEY, LATER_KEY, LAST_KEY, THIEF = KEYS
JPEG = b"\xff\xd8\xff\xe0 a copy without position \xff\xd9"


def hex_of(private):
    return private.public_key().public_bytes_raw().hex()


def canonical(value) -> bytes:
    text = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return text.encode()


def moment(at):
    return at.isoformat(timespec="microseconds")


@dataclass(frozen=True)
class Entry:
    """One entry of a journal; without ``body`` it is shown by its hash alone."""

    seq: int
    leaf: str
    salt: str = ""
    body: bytes = b""

    @classmethod
    def of(cls, seq, body: bytes, salt: str):
        leaf = hashlib.sha256(b"\x00" + bytes.fromhex(salt) + body).hexdigest()
        return cls(seq, leaf, salt, body)

    @property
    def said(self):
        return json.loads(self.body)

    def line(self) -> bytes:
        if not self.body:
            return b'{"leaf":"%s","seq":%d}\n' % (self.leaf.encode(), self.seq)
        parts = (self.body, self.leaf.encode(), self.salt.encode(), self.seq)
        return b'{"body":%s,"leaf":"%s","salt":"%s","seq":%d}\n' % parts


def hidden(entry):
    return replace(entry, body=b"", salt="")


class Story:
    """A site's journal that grows, its carts, and the checkpoints signed on the way."""

    def __init__(self, seed=1, key=KEY):
        self.random = random.Random(seed)
        self.entries, self.checkpoints = [], []
        self.key, self.epoch, self.now = key, 1, START
        self.carts = [(self.new_id(), f"{n}") for n in range(1, 13)]
        self.photos = {}

    def new_id(self):
        return str(UUID(int=self.random.getrandbits(128), version=4))

    def add(self, kind, **values):
        self.now += timedelta(minutes=7, microseconds=self.random.randrange(1_000_000))
        body = {
            "kind": kind,
            "id": self.new_id(),
            "site": SITE,
            "done_at": moment(self.now - timedelta(hours=1)),
            "day_only": False,
            "written_at": moment(self.now),
            "received_at": moment(self.now),
            "by": self.carts[0][0],
            "brought_in": False,
            "corrects": None,
            "why_corrected": "",
            "lines": [],
            **values,
        }
        salt = self.random.randbytes(16).hex()
        self.entries.append(Entry.of(len(self.entries) + 1, canonical(body), salt))
        return body["id"]

    def reading(self, **values):
        cart, _number = self.random.choice(self.carts)
        hours = f"{self.random.randrange(9000)}.{self.random.randrange(1000):03d}"
        said = {"cart": cart, "hours_shown": hours, "distance_shown": None, "typed": f"{hours} h"}
        return self.add("fleet.reading", **(said | values))

    def photo(self):
        data = JPEG + self.random.randbytes(20)
        digest = hashlib.sha256(data).hexdigest()
        self.photos[digest] = data
        return self.add("shared.photo", copy_sha256=digest, original_sha256="0" * 64)

    def rotate(self, key, signed_by=None):
        old, new = hex_of(self.key), hex_of(key)
        message = f"cart records key 1\n{new}\n{SITE}\n".encode()
        signature = (signed_by or self.key).sign(message).hex()
        value = {"key": new, "before": old, "signature": signature}
        self.add("shared.change", what="signing key", value=value)
        self.key = key

    def put_back(self, kept, lost_to, reason="The disk died"):
        """Go back to ``kept`` entries and record the restore."""
        self.entries = self.entries[:kept]
        self.epoch += 1
        self.add(
            "shared.restore",
            epoch=self.epoch,
            missing_from=kept + 1,
            missing_to=lost_to,
            outside="",
            reason=reason,
        )

    def root(self, size=None):
        leaves = [bytes.fromhex(entry.leaf) for entry in self.entries[:size]]
        return Tree(lambda start, end: leaves[start:end], len(leaves)).root()

    def sign(self, key=None):
        size = len(self.entries)
        said = {"site": UUID(SITE), "epoch": self.epoch, "size": size, "root": self.root()}
        return checkpoint.sign(key or self.key, at=self.now, **said)

    def keep_checkpoint(self):
        self.checkpoints.append(self.sign())
        return self.checkpoints[-1].text

    def tell(self, count):
        """Let readings come in, with a note, a photo, a correction and odd texts among them."""
        for n in range(count):
            if n % 9 == 5:
                self.photo()
            elif n % 9 == 6:
                self.add("fleet.note", text='=1+1, "quoted"\r\nand a line more')
            elif n % 9 == 7:
                target = self.random.choice(self.entries).said["id"]
                self.reading(corrects=target, why_corrected="Wrong cart", typed="-7 h")
            else:
                self.reading(day_only=n % 4 == 0)


def a_story(count=40, seed=1):
    """A story with two checkpoints on the way."""
    story = Story(seed)
    story.tell(count // 3)
    story.keep_checkpoint()
    story.tell(count // 3)
    story.keep_checkpoint()
    story.tell(count - 2 * (count // 3))
    return story


@dataclass
class Draft:
    """A bundle's files before they are sealed: change them, and seal or not seal them anew."""

    files: dict
    manifest: dict
    key: Ed25519PrivateKey = KEY
    names: list = field(default_factory=list)

    def list_files(self):
        """Let the manifest tell of the files as they are now."""
        listed = []
        for name, data in self.files.items():
            digest = hashlib.sha256(data).hexdigest()
            packed = hashlib.sha256(deflated(name, data)).hexdigest()
            known = {"name": name, "bytes": len(data), "sha256": digest, "packed_sha256": packed}
            listed.append({**known, "content": is_content(name)})
        lines = "".join(f"{f['sha256']}  {f['name']}\n" for f in listed if f["content"])
        content = hashlib.sha256(lines.encode()).hexdigest()
        self.manifest |= {"files": listed, "content": content}

    def sealed(self) -> dict:
        self.list_files()
        manifest = canonical(self.manifest)
        signature = f"key {hex_of(self.key)}\nsignature {self.key.sign(manifest).hex()}\n"
        return {
            **self.files,
            "manifest.json": manifest,
            "manifest.signature": signature.encode(),
        }


def is_stored(name):
    return name.endswith((".jpg", ".pdf")) or name.startswith("manifest.")


def deflated(name, data):
    """Return the bytes of a file as zipfile lays them into the ZIP."""
    if is_stored(name):
        return data
    packer = zlib.compressobj(-1, zlib.DEFLATED, -15)
    return packer.compress(data) + packer.flush()


def is_content(name):
    return name.startswith(("tables/", "photos/")) or name in (ENTRIES, ELSEWHERE)


def draft_of(story, entries=None, **said) -> Draft:
    entries = story.entries if entries is None else entries
    here = [entry.said for entry in entries if entry.body]
    files = {
        "README.txt": b"An audit bundle.\r\n",
        "report/report.pdf": b"%PDF-1.7 for people",
        **tables_of(story, here),
        ENTRIES: b"".join(entry.line() for entry in entries),
        CHECKPOINTS: "".join(f"{kept.text}\n" for kept in story.checkpoints).encode(),
        PROOFS: canonical(proofs_of(story)),
    }
    shown = {body.get("copy_sha256") for body in here if body["kind"] == "shared.photo"} - {None}
    for digest in sorted(shown):
        files[f"photos/{digest}.jpg"] = story.photos[digest]
    files |= {"check/check.py": b"# a copy\n", "check/check.html": b"<!-- a copy -->\n"}
    files["checkpoint.txt"] = story.sign().text.encode()
    return Draft(files, manifest_of(story, len(entries)) | said, story.key)


def manifest_of(story, count):
    return {
        "form": 2,
        "site": SITE,
        "site_name": "Brindlewick",
        "site_slug": "brindlewick",
        "zone": "America/New_York",
        "happened_by": moment(story.now),
        "known_by": moment(story.now),
        "from_day": None,
        "lifted_only": False,
        "with_names": False,
        "entries": count,
        "made_at": moment(story.now),
        "made_by": "A manager",
        "tool": "1.0",
    }


def proofs_of(story):
    leaves = [bytes.fromhex(entry.leaf) for entry in story.entries]
    tree = Tree(lambda start, end: leaves[start:end], len(leaves))
    kept = [c for c in story.checkpoints if 0 < c.size <= len(leaves)]
    return [
        {
            "epoch": c.epoch,
            "hashes": [h.hex() for h in tree.consistency_proof(c.size)],
            "root": c.root.hex(),
            "size": c.size,
        }
        for c in kept
        if c.root == tree.root(c.size)
    ]


def tables_of(story, bodies):
    readings = [body for body in bodies if body["kind"] == "fleet.reading"]
    rows = [reading_row(body) for body in readings]
    register = [
        [cart, number, "no" if n % 5 == 4 else "yes", "2026-03-09" if n == 2 else "", ""]
        for n, (cart, number) in enumerate(story.carts)
    ]
    columns = [column(name) for name in ("cart_id", "cart", "is_lifted", "left_on", "gone_on")]
    return {
        REGISTER: csv_of(columns, register),
        f"{REGISTER}-metadata.json": meta_of("register.csv", columns),
        READINGS: csv_of(READING_COLUMNS, rows),
        f"{READINGS}-metadata.json": meta_of("readings.csv", READING_COLUMNS, "reading"),
    }


def column(name, says=None, datatype="string"):
    told = {"propertyUrl": f"urn:cart-records:field:{says}"} if says else {}
    return {"name": name, "titles": name, "datatype": datatype, **told}


YES_NO = {"base": "boolean", "format": "yes|no"}
READING_COLUMNS = [
    column("reading", "id"),
    column("cart_id", "cart"),
    column("done_at", "done_at"),
    column("hours", "hours_shown", "decimal"),
    column("miles", "distance_shown", "decimal"),
    column("typed", "typed"),
    column("brought_in", "brought_in", YES_NO),
    column("corrects", "corrects"),
    column("who"),
]


def reading_row(body):
    at = datetime.fromisoformat(body["done_at"]) - timedelta(hours=5)
    local = f"{at:%Y-%m-%dT%H:%M:%S}-05:00"
    typed = body["typed"]
    return [
        body["id"],
        body["cart"],
        local[:10] if body["day_only"] else local,
        body["hours_shown"].rstrip("0").rstrip("."),
        "",
        f"'{typed}" if typed.startswith("-") else typed,
        "yes" if body["brought_in"] else "no",
        body["corrects"] or "",
        'P-0007, "Wren"\r\nand another',
    ]


def csv_of(columns, rows) -> bytes:
    text = io.StringIO(newline="")
    text.write("\ufeff")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([c["name"] for c in columns])
    writer.writerows(rows)
    return text.getvalue().encode()


def meta_of(url, columns, about=None):
    schema = {"columns": columns}
    if about:
        of_line = [one["name"] for one in columns if one["name"] in ("of", "place")]
        schema |= {"aboutUrl": f"urn:uuid:{{{about}}}", "primaryKey": [about, *of_line]}
    said = {"@context": "http://www.w3.org/ns/csvw", "url": url, "tableSchema": schema}
    return json.dumps(said, indent=1).encode()


def zipped(files) -> bytes:
    """Return a ZIP with exactly the headers of the form; ``files`` is a dict or pairs."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        for name, content in files.items() if isinstance(files, dict) else files:
            archive.writestr(member(name), content)
    return data.getvalue()


def member(name):
    info = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    info.compress_type = zipfile.ZIP_STORED if is_stored(name) else zipfile.ZIP_DEFLATED
    info.create_system, info.external_attr = 3, 0o600 << 16
    return info


def bundle_of(story, **said) -> bytes:
    return zipped(draft_of(story, **said).sealed())
