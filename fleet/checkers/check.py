#!/usr/bin/env python3
"""Check an audit bundle of cart records, without the tool that made it and without a network.

    python3 check.py BUNDLE.zip [--checkpoint FILE ...] [--key HEX] [--sample NUMBER]

It needs Python 3.9 or later and nothing else. ``--checkpoint`` takes a file with an earlier
signed checkpoint of the site (a mail that was kept will do); ``--key`` the public key that you
know the site by; ``--sample`` draws the carts to look at for a number of your own.

Exit code: 0 nothing failed; 1 something failed; 2 the checking could not begin, or broke off.
The form of a bundle, and each check, is written down in FORM.md beside the tool's source.
"""

import argparse
import hashlib
import json
import math
import re
import struct
import sys
import tempfile
import zlib
from array import array
from collections import namedtuple
from itertools import chain

try:
    from zoneinfo import ZoneInfo
except ImportError:
    # before 3.9: main() says so
    ZoneInfo = None
from datetime import datetime, timedelta, timezone

CHECKS = (
    "headers",
    "files",
    "manifest-signature",
    "fingerprint",
    "checkpoint",
    "entries",
    "root",
    "earlier-checkpoints",
    "proofs",
    "photos",
    "tables",
    "key",
    "given-checkpoint",
)
OLDEST_PYTHON = (3, 9)
OK, FAILED, NOT_RUN, NOT_ASKED = "ok", "FAILED", "not run", "not asked"
NOTHING_FAILED, SOMETHING_FAILED, NOT_CHECKED = 0, 1, 2
NOT_RELIED_ON = (
    "Do not rely on this bundle. Keep the file as it is, and ask the site for a new one."
)
BUNDLE_WHOLE = (
    "The bundle itself is whole. What failed is the comparison with the checkpoint that you gave:"
    " read what given-checkpoint says, and ask the site."
)
CONTRADICTED = (
    "The bundle agrees with itself, and not with the checkpoint that you gave. Do not rely on it."
    " Keep both as they are, and ask the site how that came about."
)

PIECE_BYTES = 2**16
LINE_BYTES = 2**20
SPOOL_BYTES = 2**25
SHOWN_PROBLEMS = 10


class CannotBegin(Exception):
    """There is nothing to check, or no way to; the message says what to do."""


class NoCheckpoint(CannotBegin):
    """A text that was given holds no checkpoint."""


class Spoilt(Exception):
    """Something in the bundle cannot be read; the message says what."""


class Report:
    """What each check found, in the order of the checks."""

    def __init__(self):
        self.found = {}
        # whether a checkpoint that was given shows another history, or another signer
        self.is_contradicted = False

    def __setitem__(self, name, finding):
        self.found[name] = finding

    def passed(self, name):
        return name in self.found and self.found[name][0] == OK

    @property
    def verdicts(self):
        """Every check with its verdict, those that never came to run too."""
        return [(name, self.found.get(name, (NOT_RUN,))[0]) for name in CHECKS]

    @property
    def failed(self):
        return [name for name, verdict in self.verdicts if verdict == FAILED]

    @property
    def is_clean(self):
        verdicts = dict(self.verdicts)
        asked = verdicts.pop("given-checkpoint") in (OK, NOT_ASKED)
        return asked and all(verdict == OK for verdict in verdicts.values())

    @property
    def closing(self):
        """What to do where something failed."""
        others = [verdict for name, verdict in self.verdicts if name != "given-checkpoint"]
        if any(verdict != OK for verdict in others):
            return NOT_RELIED_ON
        return CONTRADICTED if self.is_contradicted else BUNDLE_WHOLE

    @property
    def conclusion(self):
        if self.is_clean:
            return "nothing failed"
        return f"{counted(len(self.failed), 'check')} failed: {', '.join(self.failed)}"

    def lines(self):
        for name, verdict in self.verdicts:
            _verdict, said = self.found.get(name, (NOT_RUN, ["an earlier check failed"]))
            yield from (f"{verdict} {name}: {line}" for line in said)


class Problems(list):
    """What is wrong, of which only the first few are told in full."""

    def __init__(self):
        super().__init__()
        self.more = 0

    def add(self, problem):
        if len(self) < SHOWN_PROBLEMS:
            self.append(problem)
        else:
            self.more += 1

    def verdict(self, said):
        """Return the finding of a check: what was checked, or what is wrong."""
        if not self:
            return OK, [said] if isinstance(said, str) else said
        return FAILED, [*self, f"and {self.more} more"] if self.more else list(self)


LOCAL = struct.Struct("<4s5H3L2H")
CENTRAL = struct.Struct("<4s6H3L5H2L")
END = struct.Struct("<4s4H2LH")
WIDE_END = struct.Struct("<4sQ2H2L4Q")
WIDE_PLACE = struct.Struct("<4sLQL")
STORED, DEFLATED = 0, 8
DAY_1980 = 0x21
NARROW, WIDE = 20, 45
MADE_ON_UNIX = 3 << 8
READ_BY_OWNER = 0o600 << 16
WIDE_EXTRA, WIDE_EXTRA_BYTES = 1, 20
NO_ROOM, NO_ROOM_COUNT = 2**32 - 1, 2**16 - 1
MOST_FILES = 200_000
MOST_NAME_BYTES = 200
# no table or text of ours packs so well
MOST_TIMES_PACKED, SPARE_BYTES = 400, 2**20

Member = namedtuple("Member", "name method crc packed size header start")

# the names a bundle may hold, in their order
NAMES = [
    re.compile(pattern)
    for pattern in (
        r"README\.txt",
        r"report/[a-z0-9][a-z0-9._-]*\.pdf",
        r"tables/[a-z0-9][a-z0-9._-]*\.csv(-metadata\.json)?",
        r"journal/entries\.jsonl",
        r"journal/checkpoints\.txt",
        r"journal/proofs\.json",
        r"journal/keys\.json",
        r"journal/elsewhere\.txt",
        r"photos/[0-9a-f]{64}\.jpg",
        r"photos/missing\.txt",
        r"check/check\.py",
        r"check/check\.html",
        r"checkpoint\.txt",
        r"manifest\.json",
        r"manifest\.signature",
    )
]
ALWAYS_THERE = (
    "README.txt",
    "journal/entries.jsonl",
    "journal/checkpoints.txt",
    "journal/proofs.json",
    "check/check.py",
    "check/check.html",
    "checkpoint.txt",
    "manifest.json",
    "manifest.signature",
)
ELSEWHERE, MISSING_PHOTOS = "journal/elsewhere.txt", "photos/missing.txt"
KEYS = "journal/keys.json"
OUTSIDE_MANIFEST = ["manifest.json", "manifest.signature"]


def place_of(name):
    """Return the place of a name in the bundle's order, None for one that has none."""
    for place, pattern in enumerate(NAMES):
        if pattern.fullmatch(name):
            return place
    return None


class Archive:
    """A bundle's files. Opening it reads and judges every header and nothing else.

    Raises CannotBegin for what is no ZIP, Spoilt for a header that the tool does not write.
    """

    def __init__(self, file):
        self.file = file
        self.length = file.seek(0, 2)
        self.members = {}
        if self._at(0, 4) != b"PK\x03\x04":
            raise CannotBegin("this is no audit bundle: give the ZIP file as it was downloaded")
        self._read_headers()

    def _at(self, offset, count):
        self.file.seek(offset)
        return self.file.read(count)

    def _read_headers(self):
        offset = 0
        while self._at(offset, 4) == b"PK\x03\x04":
            member = self._member(offset)
            if member.name in self.members:
                raise Spoilt(f"{member.name} is there twice")
            if len(self.members) == MOST_FILES:
                raise Spoilt(f"there are more than {MOST_FILES} files")
            self.members[member.name] = member
            offset = member.start + member.packed
        self._refuse_other_end(offset)

    def _member(self, offset):
        head = self._at(offset, LOCAL.size)
        if len(head) < LOCAL.size:
            raise Spoilt(f"the file is cut off at byte {offset}")
        method, crc, packed, size, name_bytes, extra_bytes = (
            LOCAL.unpack(head)[place] for place in (3, 6, 7, 8, 9, 10)
        )
        if name_bytes > MOST_NAME_BYTES or extra_bytes not in (0, WIDE_EXTRA_BYTES):
            raise Spoilt(f"the header at byte {offset} is not one that the tool writes")
        rest = self._at(offset + LOCAL.size, name_bytes + extra_bytes)
        if extra_bytes and len(rest) == name_bytes + extra_bytes:
            size, packed = struct.unpack("<2Q", rest[-16:])
        name = rest[:name_bytes].decode("ascii", "replace")
        start = offset + LOCAL.size + len(rest)
        member = Member(name, method, crc, packed, size, offset, start)
        if head + rest != local_header(member):
            raise Spoilt(f"the header at byte {offset} is not one that the tool writes")
        self._refuse_odd(member)
        return member

    def _refuse_odd(self, member):
        if place_of(member.name) is None:
            raise Spoilt(f"{shown(member.name)} is no file of a bundle")
        is_stored = member.name.endswith((".jpg", ".pdf")) or member.name in OUTSIDE_MANIFEST
        if member.method != (STORED if is_stored else DEFLATED):
            raise Spoilt(f"{member.name} is packed in another way than the tool's")
        if is_stored and member.size != member.packed:
            raise Spoilt(f"{member.name} has two sizes")
        if member.size > MOST_TIMES_PACKED * member.packed + SPARE_BYTES:
            raise Spoilt(f"{member.name} would unpack to far more than a bundle holds")
        if member.start + member.packed > self.length:
            raise Spoilt(f"the file is cut off inside {member.name}")

    def _refuse_other_end(self, offset):
        """Raise Spoilt unless the rest of the file is the directory of what came before."""
        end = directory(self.members.values(), offset)
        if self._at(offset, len(end) + 1) != end:
            raise Spoilt(f"what follows byte {offset} is not the directory that the tool writes")

    def pieces(self, name):
        """Yield a file's bytes. Raises Spoilt unless length and CRC are those of its header."""
        member = self.members.get(name)
        if member is None:
            raise Spoilt("it is not in the bundle")
        unpacked = self._packed(member)
        if member.method == DEFLATED:
            unpacked = inflated(unpacked)
        crc = size = 0
        for piece in unpacked:
            crc, size = zlib.crc32(piece, crc), size + len(piece)
            if size > member.size:
                raise Spoilt("it is longer than its header says")
            yield piece
        if (crc, size) != (member.crc, member.size):
            raise Spoilt("its bytes are not those that its header tells of")

    def packed_sha256(self, name):
        """Return the SHA-256 of a file's bytes as they lie in the ZIP."""
        digest = hashlib.sha256()
        for piece in self._packed(self.members[name]):
            digest.update(piece)
        return digest.hexdigest()

    def _packed(self, member):
        left, offset = member.packed, member.start
        while left:
            piece = self._at(offset, min(left, PIECE_BYTES))
            if not piece:
                raise Spoilt("the file became shorter while it was read")
            yield piece
            left, offset = left - len(piece), offset + len(piece)

    def whole(self, name, most_bytes):
        """Return a file's bytes. Raises Spoilt for one that is longer than it may be."""
        if name in self.members and self.members[name].size > most_bytes:
            raise Spoilt(f"it is longer than {most_bytes} bytes")
        return b"".join(self.pieces(name))


def wide_extra(values):
    """Return the ZIP64 extra field of these values, nothing for none."""
    count = len(values)
    return struct.pack(f"<2H{count}Q", WIDE_EXTRA, 8 * count, *values) if values else b""


def fields_of(member):
    """Return what a local and a central header of a file say alike, and its sizes if wide."""
    is_wide = member.size >= NO_ROOM
    sizes = (NO_ROOM, NO_ROOM) if is_wide else (member.packed, member.size)
    needed = WIDE if is_wide or member.header >= NO_ROOM else NARROW
    fields = (needed, 0, member.method, 0, DAY_1980, member.crc, *sizes)
    return fields, [member.size, member.packed] if is_wide else []


def local_header(member):
    fields, wide = fields_of(member)
    name, extra = member.name.encode("ascii", "replace"), wide_extra(wide)
    return LOCAL.pack(b"PK\x03\x04", *fields, len(name), len(extra)) + name + extra


def central_header(member):
    fields, wide = fields_of(member)
    is_far = member.header >= NO_ROOM
    name, extra = (
        member.name.encode("ascii"),
        wide_extra([*wide, member.header] if is_far else wide),
    )
    place = (0, 0, 0, READ_BY_OWNER, NO_ROOM if is_far else member.header)
    made = MADE_ON_UNIX | fields[0]
    head = CENTRAL.pack(b"PK\x01\x02", made, *fields, len(name), len(extra), *place)
    return head + name + extra


def directory(members, offset):
    """Return the bytes that end a ZIP of these members whose data ends at ``offset``."""
    central = b"".join(central_header(member) for member in members)
    count, length, wide = len(members), len(central), b""
    if count >= NO_ROOM_COUNT or offset >= NO_ROOM or length >= NO_ROOM:
        made = (MADE_ON_UNIX | WIDE, WIDE)
        wide = WIDE_END.pack(b"PK\x06\x06", 44, *made, 0, 0, count, count, length, offset)
        wide += WIDE_PLACE.pack(b"PK\x06\x07", 0, offset + length, 1)
    counts = (min(count, NO_ROOM_COUNT),) * 2
    places = (min(length, NO_ROOM), min(offset, NO_ROOM))
    return central + wide + END.pack(b"PK\x05\x06", 0, 0, *counts, *places, 0)


def inflated(pieces):
    """Yield what deflated pieces unpack to, never much at once. Raises Spoilt."""
    unpacking = zlib.decompressobj(-zlib.MAX_WBITS)
    try:
        for packed in pieces:
            while packed:
                if unpacking.eof:
                    raise Spoilt("there are bytes after its end")
                yield unpacking.decompress(packed, PIECE_BYTES)
                packed = unpacking.unconsumed_tail
        while True:
            piece = unpacking.decompress(b"", PIECE_BYTES)
            if not piece:
                break
            yield piece
    except zlib.error:
        raise Spoilt("it cannot be unpacked") from None
    if not unpacking.eof or unpacking.unused_data:
        raise Spoilt("it does not end where its header says")


def lines_of(pieces):
    """Yield lines without their line feed. Raises Spoilt for a long one or an open end."""
    rest = b""
    for piece in pieces:
        *whole, rest = (rest + piece).split(b"\n")
        for line in whole:
            if len(line) > LINE_BYTES:
                break
            yield line
        if max(len(rest), *map(len, whole), 0) > LINE_BYTES:
            raise Spoilt(f"a line is longer than {LINE_BYTES} bytes")
    if rest:
        raise Spoilt("its last line has no end")


FIELD = 2**255 - 19
GROUP = 2**252 + 27742317777372353535851937790883648493
CURVE_D = -121665 * pow(121666, FIELD - 2, FIELD) % FIELD
ROOT_OF_MINUS_1 = pow(2, (FIELD - 1) // 4, FIELD)
NEUTRAL = (0, 1, 1, 0)


def point_sum(p, q):
    """RFC 8032 section 5.1.4, in extended coordinates (X, Y, Z, T)."""
    a = (p[1] - p[0]) * (q[1] - q[0]) % FIELD
    b = (p[1] + p[0]) * (q[1] + q[0]) % FIELD
    c = 2 * p[3] * q[3] * CURVE_D % FIELD
    d = 2 * p[2] * q[2] % FIELD
    e, f, g, h = b - a, d - c, d + c, b + a
    return e * f % FIELD, g * h % FIELD, f * g % FIELD, e * h % FIELD


def point_twice(p):
    a, b, c = p[0] * p[0] % FIELD, p[1] * p[1] % FIELD, 2 * p[2] * p[2] % FIELD
    h = a + b
    e = h - (p[0] + p[1]) * (p[0] + p[1])
    g = a - b
    f = c + g
    return e * f % FIELD, g * h % FIELD, f * g % FIELD, e * h % FIELD


def point_of(text):
    """Decode 32 bytes after RFC 8032 section 5.1.3; None for what is no canonical point."""
    y = int.from_bytes(text, "little")
    sign, y = y >> 255, y & (2**255 - 1)
    if y >= FIELD:
        return None
    square = (y * y - 1) * pow(CURVE_D * y * y + 1, FIELD - 2, FIELD) % FIELD
    x = pow(square, (FIELD + 3) // 8, FIELD)
    if x * x % FIELD != square:
        x = x * ROOT_OF_MINUS_1 % FIELD
    if x * x % FIELD != square or (x == 0 and sign):
        return None
    x = FIELD - x if x & 1 != sign else x
    return x, y, 1, x * y % FIELD


def bytes_of(point):
    per_z = pow(point[2], FIELD - 2, FIELD)
    x, y = point[0] * per_z % FIELD, point[1] * per_z % FIELD
    return (y | (x & 1) << 255).to_bytes(32, "little")


BASE = point_of((4 * pow(5, FIELD - 2, FIELD) % FIELD).to_bytes(32, "little"))


def is_small(point):
    """Whether eight times the point is nothing: anybody can sign for such a key."""
    eightfold = point_twice(point_twice(point_twice(point)))
    return eightfold[0] == 0 and eightfold[1] == eightfold[2]


def is_signed(key, signature, message):
    """Whether an Ed25519 signature is that of the key, after RFC 8032 section 5.1.7.

    All are bytes. The stricter equation without the cofactor is used, as it allows.
    """
    point = point_of(key) if len(key) == 32 and len(signature) == 64 else None
    factor = int.from_bytes(signature[32:], "little")
    if point is None or is_small(point) or factor >= GROUP:
        return False
    digest = hashlib.sha512(signature[:32] + key + message).digest()
    turned = (FIELD - point[0], point[1], 1, FIELD - point[3])
    found = two_products(factor, BASE, int.from_bytes(digest, "little") % GROUP, turned)
    return bytes_of(found) == signature[:32]


def two_products(m, p, n, q):
    """Return m times p plus n times q, both bit by bit in one go."""
    choices = (None, p, q, point_sum(p, q))
    found = NEUTRAL
    for bit in range(max(m.bit_length(), n.bit_length()) - 1, -1, -1):
        found = point_twice(found)
        chosen = choices[m >> bit & 1 | (n >> bit & 1) << 1]
        if chosen is not None:
            found = point_sum(found, chosen)
    return found


EMPTY_ROOT = hashlib.sha256(b"").digest()


def node(left, right):
    return hashlib.sha256(b"\x01" + left + right).digest()


class Growing:
    """The root over leaves that are added one by one, in memory of log2 of their number."""

    def __init__(self):
        self.size = 0
        self.full = []

    def add(self, leaf):
        self.size += 1
        width = self.size
        while not width & 1:
            leaf = node(self.full.pop(), leaf)
            width >>= 1
        self.full.append(leaf)

    def root(self):
        if not self.full:
            return EMPTY_ROOT
        found = self.full[-1]
        for left in self.full[-2::-1]:
            found = node(left, found)
        return found


def is_consistent(earlier, earlier_root, size, root, proof):
    """Whether a proof shows the earlier tree to be a prefix: RFC 9162 section 2.1.4.2."""
    if not 0 < earlier < size:
        return earlier == size and earlier_root == root and not proof
    hashes = [earlier_root, *proof] if earlier & (earlier - 1) == 0 else list(proof)
    if not hashes:
        return False
    place, last = earlier - 1, size - 1
    while place & 1:
        place, last = place >> 1, last >> 1
    before = after = hashes[0]
    for other in hashes[1:]:
        if last == 0:
            return False
        if place & 1 or place == last:
            before, after = node(other, before), node(other, after)
            while place and not place & 1:
                place, last = place >> 1, last >> 1
        else:
            after = node(after, other)
        place, last = place >> 1, last >> 1
    return last == 0 and before == earlier_root and after == root


LARGEST_INT = 2**53 - 1


def exact_int(digits):
    if len(digits) > 17 or abs(int(digits)) > LARGEST_INT:
        raise ValueError("a number is too large")
    return int(digits)


def refused(_digits):
    raise ValueError("a number is no whole one")


READER = json.JSONDecoder(parse_int=exact_int, parse_float=refused, parse_constant=refused)
WRITER = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def canonical(value):
    """Return the canonical text of a value that the reader gave."""
    text = WRITER.encode(value)
    return text if text.isascii() else in_utf16_order(value)


def in_utf16_order(value):
    """RFC 8785 section 3.2.3 orders keys by their UTF-16 code units."""
    if isinstance(value, dict):
        keys = sorted(value, key=lambda key: key.encode("utf-16-be", "surrogatepass"))
        pairs = (f"{WRITER.encode(key)}:{in_utf16_order(value[key])}" for key in keys)
        return "{" + ",".join(pairs) + "}"
    if isinstance(value, list):
        return "[" + ",".join(in_utf16_order(item) for item in value) + "]"
    return WRITER.encode(value)


def read_json(data):
    """Read JSON of any spacing. Raises Spoilt."""
    try:
        return READER.decode(data.decode("utf-8"))
    except (ValueError, RecursionError):
        raise Spoilt("it is no JSON of the bundle's form") from None


def read_canonical(data):
    """Read canonical JSON; any other form of the same value is refused. Raises Spoilt."""
    value = read_json(data)
    try:
        is_canonical = canonical(value).encode("utf-8") == data
    except (ValueError, RecursionError):
        is_canonical = False
    if not is_canonical:
        raise Spoilt("it is no canonical JSON")
    return value


HEADING = "cart records checkpoint 1"
CHECKPOINT_LINES = 8
FORMS = (
    ("site", r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"),
    ("epoch", r"[1-9][0-9]{0,8}"),
    ("size", r"0|[1-9][0-9]{0,15}"),
    ("root", r"[0-9a-f]{64}"),
    ("time", r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z"),
    ("key", r"[0-9a-f]{64}"),
    ("signature", r"[0-9a-f]{128}"),
)
CHECKPOINT = re.compile(
    "".join([f"{HEADING}\n", *(f"{name} ({form})\n" for name, form in FORMS)]).encode()
)


class Checkpoint(namedtuple("Checkpoint", [name for name, _form in FORMS])):
    """What a checkpoint says; epoch and size are numbers, all else text as written."""

    __slots__ = ()

    @property
    def told(self):
        return f"epoch {self.epoch}, {self.size} entries, {self.time[:10]}"

    @property
    def root_bytes(self):
        return bytes.fromhex(self.root)

    def is_signed(self):
        said = [f"{name} {value}" for name, value in zip(self._fields, self)][:-1]
        message = "\n".join([HEADING, *said, ""]).encode()
        return is_signed(bytes.fromhex(self.key), bytes.fromhex(self.signature), message)


def checkpoint_of(match):
    said = [value.decode() for value in match.groups()]
    return Checkpoint(said[0], int(said[1]), int(said[2]), *said[3:])


def checkpoints_in(data):
    """Return the checkpoints of journal/checkpoints.txt, each followed by an empty line."""
    found, place = [], 0
    while place < len(data):
        match = CHECKPOINT.match(data, place)
        if match is None or data[match.end() : match.end() + 1] != b"\n":
            raise Spoilt(f"checkpoint {len(found) + 1} in it is not in its form")
        found.append(checkpoint_of(match))
        place = match.end() + 1
    return found


def given_checkpoints(name, text):
    """Return the checkpoints that somebody kept; lines around them may be a mail's.

    Raises NoCheckpoint for a text that holds none, CannotBegin for a spoilt one.
    """
    lines = [line.strip().lstrip("> ") for line in re.split(r"\r\n|\n|\r", text.lstrip("\ufeff"))]
    starts = [place for place, line in enumerate(lines) if line == HEADING]
    if not starts:
        raise NoCheckpoint(f'{name} holds no checkpoint: give the eight lines from "{HEADING}" on')
    blocks = ["\n".join([*lines[start : start + CHECKPOINT_LINES], ""]) for start in starts]
    matches = [CHECKPOINT.fullmatch(block.encode("utf-8", "replace")) for block in blocks]
    if None in matches:
        raise CannotBegin(f"a checkpoint in {name} is spoilt: give its eight lines as they were")
    return [checkpoint_of(match) for match in matches]


MANIFEST_BYTES, LIST_BYTES, META_BYTES, SMALL_BYTES = 2**26, 2**22, 2**20, 2**12
UUID = re.compile(FORMS[0][1])
HEX_64 = re.compile(r"[0-9a-f]{64}")
MOMENT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}\+00:00")
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
SIGNED = re.compile(rb"key ([0-9a-f]{64})\nsignature ([0-9a-f]{128})\n")


def is_text(value):
    return isinstance(value, str)


def is_bool(value):
    return isinstance(value, bool)


def is_count(value):
    return isinstance(value, int) and not is_bool(value) and value >= 0


def like(pattern):
    return lambda value: is_text(value) and pattern.fullmatch(value) is not None


KNOWN_FORMS = (1, 2)
# form 1 asks for less: of later bundles it would be a way around form 2
FORM_1_ENDED = "2027-01-01"
MANIFEST = {
    "form": lambda value: is_count(value) and value in KNOWN_FORMS,
    "site": like(UUID),
    "site_name": is_text,
    "site_slug": is_text,
    "zone": is_text,
    "happened_by": like(MOMENT),
    "known_by": like(MOMENT),
    "from_day": lambda value: value is None or like(DAY)(value),
    "lifted_only": is_bool,
    "with_names": is_bool,
    "entries": is_count,
    "content": like(HEX_64),
    "made_at": like(MOMENT),
    "made_by": is_text,
    "tool": is_text,
    "files": lambda value: isinstance(value, list),
}
LISTED = {
    "name": is_text,
    "bytes": is_count,
    "sha256": like(HEX_64),
    "packed_sha256": like(HEX_64),
    "content": is_bool,
}


def fits(value, form):
    return (
        isinstance(value, dict)
        and value.keys() == form.keys()
        and all(is_right(value[key]) for key, is_right in form.items())
    )


def read_manifest(data):
    manifest = read_canonical(data)
    if isinstance(manifest, dict) and manifest.get("form") not in (*KNOWN_FORMS, None):
        raise Spoilt("its form is a later one: download the newest check.py from the site")
    if not fits(manifest, MANIFEST) or not all(fits(file, LISTED) for file in manifest["files"]):
        raise Spoilt("it does not say what a manifest says")
    if manifest["form"] == 1 and max(manifest["known_by"], manifest["made_at"]) >= FORM_1_ENDED:
        raise Spoilt("form 1 ended before 2027: have the site update its tool and make it anew")
    return manifest


def is_content(name):
    """Whether a file counts for the fingerprint."""
    is_of_journal = name in ("journal/entries.jsonl", "journal/elsewhere.txt")
    return is_of_journal or name.startswith(("tables/", "photos/"))


FULL_LINE = re.compile(
    rb'\{"body":(\{.*\}),"leaf":"([0-9a-f]{64})","salt":"([0-9a-f]{32})","seq":([1-9][0-9]{0,15})\}'
)
HASH_LINE = re.compile(
    rb'\{"leaf":"([0-9a-f]{64})","seq":([1-9][0-9]{0,15})(,"withheld":"owner")?\}'
)

# of these kinds, a table tells of each entry that stands, and repeats these fields of it
TOLD_IN = {
    "fleet.reading": ("readings.csv", {"id", "cart", "done_at", "hours_shown", "distance_shown"}),
    "fleet.report": ("reports.csv", {"id", "cart", "done_at"}),
    "fleet.round": ("rounds.csv", {"id", "cart", "done_at", "note"}),
    "fleet.tag": ("tags.csv", {"id", "cart", "done_at", "reason"}),
    "lifts.fitting": ("lift_chapters.csv", {"id", "cart", "done_at", "paperwork"}),
    "lifts.jointpart": ("joint_rounds.csv", {"id", "cart", "done_at", "stage"}),
    "lifts.labelcheck": ("labels.csv", {"id", "cart", "done_at", "in_place", "is_legible"}),
    "lifts.wheeloff": ("wheels_off.csv", {"id", "cart", "done_at", "wheel"}),
    "lifts.brakecheck": ("brake_checks.csv", {"id", "cart", "done_at", "holds_on_slope"}),
    "lifts.drivecheck": ("drive_checks.csv", {"id", "cart", "done_at", "clear_at_lock"}),
    "lifts.speedrun": ("speed_runs.csv", {"id", "cart", "done_at", "time_1_s", "time_2_s"}),
    "lifts.greasepart": ("grease_rounds.csv", {"id", "cart", "done_at", "lubricant"}),
    "lifts.stabilitymeasure": ("stability_measures.csv", {"id", "cart", "done_at", "mass_kg"}),
    "lifts.jointseen": ("joints_seen.csv", {"id", "cart", "done_at", "name"}),
    "lifts.wrenchcertificate": ("wrench_certificates.csv", {"id", "done_at", "wrench", "number"}),
    "lifts.wrenchcheck": ("wrench_checks.csv", {"id", "done_at", "wrench", "set_nm", "read_nm"}),
    "lifts.wrenchevent": ("wrench_events.csv", {"id", "done_at", "wrench", "what"}),
    "alignment.cambertoesheet": ("alignments.csv", {"id", "cart", "done_at"}),
    "alignment.alignmentspec": ("alignment_figures.csv", {"id", "done_at", "kit_code", "source"}),
}
# where an entry of the kind has the field, this table tells of it too, and others of its lines
TOLD_SINCE = {
    "alignment.cambertoesheet": (
        "passes",
        "alignment_sheets.csv",
        {"id", "cart", "done_at", "passes", "mark_typed", "diameter_typed", "limits_from"},
    ),
}
OF_A_LINE = {"id", "cart", "done_at", "line:of", "line:place"}
OF_A_READING = OF_A_LINE | {
    "line:side",
    "line:gap_top_typed",
    "line:gap_bottom_typed",
    "line:between_typed",
    "line:gauge_typed",
    "line:front_typed",
    "line:rear_typed",
}
LINES_IN = {
    "alignment.camberreading": ("alignment_readings.csv", OF_A_READING),
    "alignment.toereading": ("alignment_readings.csv", OF_A_READING),
    "alignment.turn": (
        "alignment_turns.csv",
        OF_A_LINE | {"line:what", "line:at", "line:longer_flats"},
    ),
}
OF_A_PLACE = {"id", "line:of", "line:place"}
# from form 2 on, these tables tell of each such line too
LINES_IN_FORM_2 = {
    "lifts.look": (
        "joint_looks.csv",
        OF_A_LINE | {"line:name", "line:found", "line:action", "line:target_nm", "line:wrench"},
    ),
    "lifts.wrenchpoint": (
        "wrench_points.csv",
        OF_A_PLACE | {"line:set_nm", "line:as_found", "line:as_left"},
    ),
    "lifts.fittinglength": (
        "fitting_lengths.csv",
        OF_A_PLACE | {"cart", "line:what", "line:where", "line:before_mm", "line:after_mm"},
    ),
    "lifts.axlelift": (
        "axle_lifts.csv",
        OF_A_PLACE | {"cart", "line:raised_mm", "line:gained_kg"},
    ),
}
# a row that tells of an entry as a whole
WHOLE = None
REPEATS = dict(
    [
        *TOLD_IN.values(),
        *((table, fields) for _since, table, fields in TOLD_SINCE.values()),
        *LINES_IN.values(),
        *LINES_IN_FORM_2.values(),
    ]
)
# where an entry has several rows, the column that tells them apart
TOLD_APART_BY = {"alignments.csv": "result"}
NOT_IN_FORM_1 = {table for table, _fields in LINES_IN_FORM_2.values()}
MISSING_LINE = re.compile(r"([0-9a-f]{64}) (lacking|does not match)")

Rotation = namedtuple("Rotation", "told before key is_signed is_lost")
Restore = namedtuple("Restore", "seq epoch kept missing_from missing_to reason")


class Journal:
    """What the entries say that other checks need, and what is wrong with them.

    Bodies go to ``bodies``, a file, so that memory holds only where each begins.
    """

    def __init__(self, manifest, sizes, bodies):
        self.manifest, self.sizes, self.bodies = manifest, sizes, bodies
        self.problems = Problems()
        self.tree, self.roots = Growing(), {}
        self.seq, self.by_hash, self.withheld, self.last_at = 0, 0, 0, ""
        self.is_whole = False
        self.places, self.offsets = {}, array("Q", [0])
        self.waited_for = {}
        self.rotations, self.restores, self.photos = [], [], {}
        # by table: which entries it has yet to tell of, with the rows that are due of each
        self.due = {table: {} for table in REPEATS}
        self.came, self.moved = {}, set()

    def read(self, lines):
        self._keep_root()
        try:
            for line in lines:
                self._add(line)
            self.is_whole = True
        except Spoilt as why:
            self.problems.add(f"after entry {self.seq} journal/entries.jsonl is spoilt: {why}")
        self._judge_end()

    def _keep_root(self):
        if self.tree.size in self.sizes:
            self.roots[self.tree.size] = self.tree.root()

    def _add(self, line):
        match = FULL_LINE.fullmatch(line)
        if match:
            body, leaf, salt, seq = match.groups()
        else:
            match = HASH_LINE.fullmatch(line)
            if match is None:
                raise Spoilt("the next line is not in the form of an entry")
            leaf, seq, withheld = match.groups()
            body = salt = None
        self._judge_number(int(seq))
        self.tree.add(bytes.fromhex(leaf.decode()))
        self._keep_root()
        if body is None:
            self._add_hash(withheld is not None)
        else:
            self._judge_leaf(leaf, salt, body)
            self._add_body(body)

    def _judge_number(self, seq):
        expected, self.seq = self.seq + 1, seq
        if seq == expected:
            return
        if seq > expected:
            self.problems.add(
                f"{entries(expected, seq - 1)} missing or out of place: next is {seq}"
            )
        else:
            self.problems.add(f"entry {seq} stands after entry {expected - 1}")

    def _add_hash(self, is_withheld):
        self.by_hash += 1
        self.withheld += is_withheld
        leaves_out = self.manifest["lifted_only"] or self.manifest["from_day"] is not None
        if is_withheld and self.manifest["with_names"]:
            self._wrong("is withheld for an owner's sake, though the bundle gives names")
        if not is_withheld and not leaves_out:
            self._wrong("is shown by its hash alone, though the bundle leaves nothing out")

    def _judge_leaf(self, leaf, salt, body):
        said = bytes.fromhex(salt.decode()) + body
        if hashlib.sha256(b"\x00" + said).hexdigest().encode() != leaf:
            self._wrong("does not give its hash: it was changed")

    def _wrong(self, what):
        self.problems.add(f"entry {self.seq} {what}")

    def _add_body(self, data):
        try:
            body = read_canonical(data)
        except Spoilt as why:
            self._wrong(f"cannot be read: {why}")
            return
        if not like(UUID)(body.get("id")) or not is_text(body.get("kind")):
            self._wrong("has no id and kind")
            return
        self._judge_time(body.get("received_at"))
        if body.get("site") != self.manifest["site"]:
            self._wrong("is of another site")
        self._judge_corrected(body.get("corrects"))
        self._keep(body["id"], data)
        self._let_wait(body)
        self._take_note(body)

    def _judge_time(self, at):
        if not like(MOMENT)(at):
            self._wrong("has no moment of arrival")
            return
        if at < self.last_at:
            self._wrong("arrived before the entry above it")
        if at > self.manifest["known_by"]:
            self._wrong("arrived after the moment of the bundle")
        self.last_at = at

    def _judge_corrected(self, target):
        if target is None:
            return
        if not like(UUID)(target):
            self._wrong("corrects something without an id")
        elif key_of(target) not in self.places:
            # it may be an entry above that is shown by its hash alone
            self.waited_for.setdefault(key_of(target), self.seq)
            if not self.by_hash:
                self._wrong("corrects an entry that does not stand above it")

    def _keep(self, fact_id, data):
        key = key_of(fact_id)
        if key in self.places:
            self._wrong("has the id of an entry above it")
        elif key in self.waited_for and self.waited_for[key] < self.seq:
            self._wrong(f"is corrected by entry {self.waited_for[key]}, which stands above it")
        self.places[key] = len(self.offsets) - 1
        self.bodies.write(data)
        self.offsets.append(self.offsets[-1] + len(data))

    def _let_wait(self, body):
        """Note that a table is to tell of an entry, and no longer of the one it takes back."""
        if like(UUID)(body.get("corrects")):
            for due in self.due.values():
                due.pop(key_of(body["corrects"]), None)
        done_at = body.get("done_at")
        had_happened = is_text(done_at) and done_at <= self.manifest["happened_by"]
        if body["kind"] == "shared.change" and body.get("what") in ("joined", "moved"):
            if had_happened:
                self.came.setdefault(body.get("cart_id"), self.seq)
            if body["what"] == "moved":
                self.moved.add(body.get("cart_id"))
        if had_happened:
            for table, row in rows_due(body, self.manifest["form"]):
                due = self.due[table].setdefault(key_of(body["id"]), (self.seq, set()))
                due[1].add(row)

    def told(self, table, key, row):
        """Note that a table told of an entry, or of a line of it."""
        _seq, rows = self.due[table].get(key, (0, set()))
        rows.discard(row)
        if not rows:
            self.due[table].pop(key, None)

    def _take_note(self, body):
        if body["kind"] == "shared.photo":
            self._note_photo(body)
        elif body["kind"] == "shared.restore":
            self._note_restore(body)
        elif body["kind"] == "shared.change" and body.get("what") == "signing key":
            self._note_rotation(body.get("value"))

    def _note_photo(self, body):
        if like(HEX_64)(body.get("copy_sha256")):
            self.photos.setdefault(body["copy_sha256"], self.seq)
        else:
            self._wrong("is a photo without its hash")

    def _note_restore(self, body):
        numbers = [body.get(name) for name in ("epoch", "missing_from", "missing_to")]
        if not all(is_count(number) for number in numbers):
            self._wrong("is a restore that does not say what is missing")
            return
        epoch, first, last = numbers
        if epoch <= max([restore.epoch for restore in self.restores], default=1):
            self._wrong("is a restore that opens no new epoch")
        reason = body.get("reason") if is_text(body.get("reason")) else ""
        self.restores.append(Restore(self.seq, epoch, max(first - 1, 0), first, last, reason))

    def _note_rotation(self, value):
        self.rotations.append(rotation_of(value, f"entry {self.seq}", self.manifest["site"]))

    def _judge_end(self):
        if self.is_whole and self.tree.size != self.manifest["entries"]:
            wanted, size = self.manifest["entries"], self.tree.size
            if size < wanted and self.seq < wanted:
                self.problems.add(f"{entries(self.seq + 1, wanted)} missing at the end")
            else:
                self.problems.add(f"there are {size} entries, the manifest says {wanted}")

    def body(self, fact_id):
        """Return the body of the entry with an id, None where the bundle has none."""
        return self.body_at(key_of(fact_id)) if UUID.fullmatch(fact_id) else None

    def body_at(self, key):
        place = self.places.get(key)
        if place is None:
            return None
        self.bodies.seek(self.offsets[place])
        return json.loads(self.bodies.read(self.offsets[place + 1] - self.offsets[place]))

    def kept(self, epoch):
        """Return the size up to which what an epoch wrote is still there; inf for all of it."""
        return min((r.kept for r in self.restores if r.epoch > epoch), default=math.inf)

    def leads(self, before, key, past_lost=False):
        """Whether signed changes of the key lead from one to the other, or past lost keys too."""
        return self.keys_from(before, key, past_lost)[-1] == key

    def keys_from(self, before, key, past_lost=False):
        """Return a key and those that it leads to, each signed by the one before."""
        keys = [before]
        for rotation in self.rotations:
            is_followed = rotation.is_signed or (past_lost and rotation.is_lost)
            if keys[-1] != key and is_followed and rotation.before == keys[-1]:
                keys.append(rotation.key)
        return keys


def rows_due(body, form):
    """Yield (table, row) for all that tables are to tell of an entry; its lines by their key."""
    if body["kind"] in TOLD_IN:
        yield TOLD_IN[body["kind"]][0], WHOLE
        yield from lines_due(body, LINES_IN_FORM_2 if form > 1 else {})
    if body["kind"] in TOLD_SINCE:
        field, table, _fields = TOLD_SINCE[body["kind"]]
        if body.get(field) is not None:
            yield table, WHOLE
            yield from lines_due(body, LINES_IN)


def lines_due(body, tables):
    for key, line in lines_in(body).items():
        if is_text(line.get("of")) and line["of"] in tables:
            yield tables[line["of"]][0], key


def lines_in(body):
    """Return {key: line} of the lines of an entry; the key is what a row finds its line by."""
    lines = body.get("lines")
    lines = [line for line in lines if isinstance(line, dict)] if isinstance(lines, list) else []
    return {(text_of(line.get("of")), text_of(line.get("place"))): line for line in lines}


def rotation_of(value, told, site):
    """Return a change of the key; one whose old key was lost bears an empty signature."""
    said = value if isinstance(value, dict) else {}
    before, key, signature = (said.get(name) for name in ("before", "key", "signature"))
    if not (like(HEX_64)(before) and like(HEX_64)(key) and is_text(signature)):
        return Rotation(told, before, key, False, False)
    if not re.fullmatch(r"[0-9a-f]{128}", signature):
        return Rotation(told, before, key, False, signature == "")
    message = f"cart records key 1\n{key}\n{site}\n".encode()
    is_right = is_signed(bytes.fromhex(before), bytes.fromhex(signature), message)
    return Rotation(told, before, key, is_right, False)


def key_of(fact_id):
    return bytes.fromhex(fact_id.replace("-", ""))


def entries(first, last):
    return f"entry {first} is" if first == last else f"entries {first} to {last} are"


def counted(count, what):
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


BYTE_ORDER_MARK = b"\xef\xbb\xbf"
CELL = re.compile(r'("[^"]*(?:""[^"]*)*"|[^",\r\n]*)([,\r])')
NUMBERS = {"decimal", "integer", "number", "double", "float", "nonNegativeInteger"}
ABOUT = re.compile(r"urn:uuid:\{([^{}]+)\}")
FIELD_NAME, LINE_NAME = "urn:cart-records:field:", "urn:cart-records:line:"
# what a spreadsheet would take for a formula, in width and in full width
RUNS_AS_FORMULA = tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
NUMBER = re.compile(r"(-?)0*([0-9]+?)(?:\.([0-9]*?)0*)?")
CELL_MOMENT = re.compile(
    r"([0-9]{4}-[0-9]{2}-[0-9]{2})T([0-9]{2}:[0-9]{2}:[0-9]{2})(\.[0-9]{1,6})?(Z|[+-][0-9]{2}:[0-9]{2})"
)
# how far a local day can lie from the day in UTC
DAY_APART = timedelta(hours=14)

Told = namedtuple("Told", "place name field is_number is_in_line")


class Counts:
    """How much of the tables was compared."""

    rows = cells = elsewhere = 0


class Compared(namedtuple("Compared", "journal elsewhere zone counts problems")):
    """Tables held against the journal."""

    __slots__ = ()

    def wrong_cells(self, row, meta):
        """Yield what is wrong with the cells of a row that repeat what its entry says."""
        fact_id = row[meta.about]
        if fact_id in self.elsewhere:
            self.counts.elsewhere += 1
            return
        body = self.journal.body(fact_id) if fact_id else {}
        if body is None:
            yield f"its entry {shown(fact_id)} is not in the bundle"
            return
        self.counts.cells += len(meta.told)
        key, line = WHOLE, {}
        if fact_id and meta.in_line:
            key = (row[meta.in_line["of"]], row[meta.in_line["place"]])
            line = lines_in(body).get(key)
        if line is None:
            yield f"its entry has no line {shown(' '.join(key))}"
            return
        if fact_id and meta.name in REPEATS:
            self.journal.told(meta.name, key_of(fact_id), key)
        for told in meta.told:
            cell, value = row[told.place], (line if told.is_in_line else body).get(told.field)
            if not agrees(cell, value, told.is_number, self.zone):
                yield f"{told.name} is {shown(cell)}, its entry says {shown(text_of(value))}"


def text_of(value):
    return value if is_text(value) else WRITER.encode(value)


class Meta:
    """What the CSVW metadata of a table says: its columns, and which of them tell of entries."""

    def __init__(self, name, data):
        said = read_json(data)
        schema = said.get("tableSchema") if isinstance(said, dict) else None
        columns = schema.get("columns") if isinstance(schema, dict) else None
        if not isinstance(columns, list) or not all(is_column(column) for column in columns):
            raise Spoilt("it does not say which columns there are")
        if said.get("url") != name:
            raise Spoilt("it is about another table")
        self.name, self.columns = name, columns
        names = [column["name"] for column in columns]
        self.about = self._place_of_entry(schema.get("aboutUrl"), names)
        self.told = list(self._told(columns))
        # where in a row stands which line of the entry it is about; nothing where about none
        self.in_line = {told.field: told.place for told in self.told if told.is_in_line}
        if self.in_line and not {"of", "place"} <= self.in_line.keys():
            raise Spoilt("it does not say which line of its entry a row is about")
        # where in a row stands its primary key; nothing where the table has none
        self.key = list(self._places_of_key(schema.get("primaryKey"), names))

    def _places_of_key(self, key, names):
        listed = [] if key is None else key if isinstance(key, list) else [key]
        for name in listed:
            if not is_text(name) or name not in names:
                raise Spoilt("its primary key is not made of its columns")
            yield names.index(name)

    def _place_of_entry(self, about, names):
        if about is None:
            return None
        match = ABOUT.fullmatch(about) if is_text(about) else None
        if match is None or match.group(1) not in names:
            raise Spoilt("it does not say which column names the entry")
        return names.index(match.group(1))

    def _told(self, columns):
        for place, column in enumerate(columns):
            url = column.get("propertyUrl")
            if self.about is None or not is_text(url):
                continue
            for start in (FIELD_NAME, LINE_NAME):
                if url.startswith(start):
                    told = (column["name"], url[len(start) :], base_of(column) in NUMBERS)
                    yield Told(place, *told, start == LINE_NAME)

    @property
    def repeats(self):
        """What of entries the table says that it repeats."""
        return {f"line:{told.field}" if told.is_in_line else told.field for told in self.told}

    @property
    def is_keyed_by_entry(self):
        """Whether no two rows can tell of the same entry, or of the same line of one."""
        of_row = {self.about, self.in_line.get("of"), self.in_line.get("place")}
        apart = TOLD_APART_BY.get(self.name)
        named = {place for place, column in enumerate(self.columns) if column["name"] == apart}
        return bool(self.key) and set(self.key) <= of_row | named

    def fits(self, header):
        """Whether a header row names the columns, by name or by title."""
        return len(header) == len(self.columns) and all(
            cell in (column["name"], column.get("titles"))
            for cell, column in zip(header, self.columns)
        )


class Keys:
    """The primary keys of the rows of a table so far; of places without any, none."""

    def __init__(self, places):
        self.places, self.seen = places, set()

    def is_new(self, row):
        if not self.places:
            return True
        count, key = len(self.seen), canonical([row[place] for place in self.places])
        # whole keys of a million rows would fill the memory
        self.seen.add(hashlib.sha256(key.encode()).digest()[:16])
        return len(self.seen) > count


def is_column(column):
    return isinstance(column, dict) and is_text(column.get("name"))


def base_of(column):
    datatype = column.get("datatype")
    base = datatype.get("base") if isinstance(datatype, dict) else datatype
    return base if is_text(base) else "string"


def rows_of(pieces):
    """Yield the records of a CSV file (RFC 4180, with a byte order mark). Raises Spoilt."""
    lines = iter(lines_of(pieces))
    first = next(lines, b"")
    if not first.startswith(BYTE_ORDER_MARK):
        raise Spoilt("it has no byte order mark")
    lines = chain([first[len(BYTE_ORDER_MARK) :]], lines)
    record, length, is_open = [], 0, False
    for line in lines:
        record.append(line)
        length += len(line) + 1
        # a line end between quotes belongs to the cell
        is_open ^= line.count(b'"') % 2 == 1
        if length > LINE_BYTES:
            raise Spoilt(f"a record is longer than {LINE_BYTES} bytes")
        if not is_open:
            yield cells_of(b"\n".join(record))
            record, length = [], 0
    if record:
        raise Spoilt("its last record has no end")


def cells_of(record):
    """Return the cells of one record, which comes without its line feed. Raises Spoilt."""
    try:
        text = record.decode("utf-8")
    except UnicodeDecodeError:
        raise Spoilt("it is no UTF-8") from None
    if '"' not in text and text.endswith("\r") and "\r" not in text[:-1]:
        return text[:-1].split(",")
    cells, place = [], 0
    while place < len(text):
        match = CELL.match(text, place)
        if match is None or (match.end() == len(text)) != (match.group(2) == "\r"):
            raise Spoilt("a record is not in its form")
        cells.append(unquoted(match.group(1)))
        place = match.end()
    if not text.endswith("\r"):
        raise Spoilt("a record is not in its form")
    return cells


def unquoted(cell):
    return cell[1:-1].replace('""', '"') if cell.startswith('"') else cell


def agrees(cell, value, is_number, zone):
    """Whether a cell says what the field of a body says."""
    if cell == value:
        return True
    if value is None or value == "":
        return cell == ""
    if is_bool(value):
        return cell == ("yes" if value else "no")
    if isinstance(value, int):
        return plain_number(cell) == plain_number(str(value))
    if not is_text(value):
        return unguarded(cell) == canonical(value)
    if unguarded(cell) == value:
        return True
    if is_number:
        return plain_number(cell) is not None and plain_number(cell) == plain_number(value)
    return MOMENT.fullmatch(value) is not None and is_moment(cell, value, zone)


def unguarded(cell):
    """Undo the mark that keeps a spreadsheet from taking text for a formula."""
    is_guarded = cell[1:].lstrip(" \u00a0").startswith(RUNS_AS_FORMULA)
    return cell[1:] if cell.startswith("'") and is_guarded else cell


def plain_number(text):
    match = NUMBER.fullmatch(text)
    if match is None:
        return None
    sign, whole, part = match.group(1), match.group(2), match.group(3) or ""
    return (sign if part or whole != "0" else "", whole, part)


def is_moment(cell, value, zone):
    """Whether a cell is the moment of a body, cut to the second where it has no fraction."""
    try:
        if DAY.fullmatch(cell):
            return is_day(cell, instant(value), zone)
        match = CELL_MOMENT.fullmatch(cell)
        if match is None:
            return False
        told = instant(value)
        return instant(cell) == (told if match.group(3) else told.replace(microsecond=0))
    except (ValueError, OverflowError):
        return False


def instant(text):
    day, clock, fraction, offset = CELL_MOMENT.fullmatch(text).groups()
    micros = (fraction or ".").ljust(7, "0")
    return datetime.fromisoformat(f"{day}T{clock}{micros}{'+00:00' if offset == 'Z' else offset}")


def is_day(cell, moment, zone):
    if zone is not None:
        return moment.astimezone(zone).date().isoformat() == cell
    day = datetime.fromisoformat(cell).replace(tzinfo=timezone.utc)
    return day - DAY_APART <= moment < day + timedelta(days=1) + DAY_APART


def zone_named(name):
    """Return the site's time zone, None where this machine has no data of it."""
    try:
        return ZoneInfo(name)
    except Exception:
        # what is raised depends on the system; without data days are checked loosely
        return None


# a cut tail looks just like an older bundle
SIGNED_LATER = "The checkpoint was signed later than what the bundle shows, or the bundle"
INSTEAD = "Check it with a bundle made since, or this bundle with an older checkpoint"


class Bundle:
    """A bundle under check, with what was given to check it against."""

    def __init__(self, archive, report, given=(), key=None):
        self.archive, self.report = archive, report
        self.given, self.wanted_key = list(given), key
        self.of_others = []
        self.hashes = {}
        self.manifest = self.manifest_bytes = self.signed_by = self.checkpoint = None
        self.earlier, self.earlier_why, self.journal = [], None, None
        self.keys_why = None

    @property
    def names(self):
        return list(self.archive.members)

    def check_all(self):
        self.report["headers"] = (
            OK,
            [f"{len(self.names)} files, every header as the tool writes it"],
        )
        self.check_files()
        self.check_manifest_signature()
        if self.manifest is not None:
            self._leave_out_others()
            self.check_fingerprint()
            self.check_checkpoint()
            self.read_earlier()
            with tempfile.SpooledTemporaryFile(max_size=SPOOL_BYTES) as bodies:
                self.read_journal(bodies)
                if self.journal.is_whole:
                    self.check_by_journal()

    def _leave_out_others(self):
        """A mail may hold the checkpoints of several sites."""
        site = self.manifest["site"]
        self.of_others = [given for given in self.given if given.site != site]
        self.given = [given for given in self.given if given.site == site]

    def check_by_journal(self):
        """Run the checks that need every entry."""
        self.check_root()
        self.check_earlier()
        self.check_proofs()
        self.check_photos()
        self.check_tables()
        self.check_key()
        self.check_given()

    def check_files(self):
        problems = Problems()
        try:
            self.manifest_bytes = self.archive.whole("manifest.json", MANIFEST_BYTES)
            self.manifest = read_manifest(self.manifest_bytes)
        except Spoilt as why:
            problems.add(f"manifest.json: {why}")
        for name in self.names:
            self._hash_file(name, problems)
        listed = self.manifest["files"] if self.manifest else []
        if self.manifest:
            self._compare_lists(listed, problems)
            for file in listed:
                self._compare_file(file, problems)
        self._judge_layout(problems)
        said = f"all {len(listed)} files are there, in order, with the manifest's SHA-256"
        self.report["files"] = problems.verdict(said)

    def _hash_file(self, name, problems):
        digest = hashlib.sha256()
        try:
            for piece in self.archive.pieces(name):
                digest.update(piece)
            self.hashes[name] = digest.hexdigest()
        except Spoilt as why:
            problems.add(f"{name}: {why}")

    def _compare_lists(self, listed, problems):
        named = [file["name"] for file in listed] + OUTSIDE_MANIFEST
        for name in named:
            if name not in self.archive.members:
                problems.add(f"{shown(name)} is in the manifest and not in the bundle")
        for name in sorted(set(self.names) - set(named)):
            problems.add(f"{name} is in the bundle and not in the manifest")
        if not problems and named != self.names:
            problems.add("the files stand in another order than in the manifest")

    def _compare_file(self, file, problems):
        name = file["name"]
        member = self.archive.members.get(name)
        if member and member.size != file["bytes"]:
            problems.add(f"{name} has {member.size} bytes, the manifest says {file['bytes']}")
        elif self.hashes.get(name, file["sha256"]) != file["sha256"]:
            problems.add(f"{name} was changed: its SHA-256 is not the manifest's")
        elif member and self.archive.packed_sha256(name) != file["packed_sha256"]:
            problems.add(f"{name} was packed anew: its bytes in the ZIP are not the manifest's")
        if file["content"] != is_content(name):
            problems.add(f"{shown(name)} is on the wrong side of the fingerprint")

    def _judge_layout(self, problems):
        names = self.names
        for name in ALWAYS_THERE:
            if name not in self.archive.members:
                problems.add(f"{name} is not in the bundle")
        places = [place_of(name) for name in names]
        if places != sorted(places):
            problems.add("the files do not stand in a bundle's order")
        photos = [name for name in names if name.endswith(".jpg")]
        if photos != sorted(photos):
            problems.add("the photos do not stand in the order of their names")
        tables = [name for name in names if name.startswith("tables/")]
        if tables[1::2] != [f"{name}-metadata.json" for name in tables[::2]]:
            problems.add("not every table is followed by its metadata")

    def check_manifest_signature(self):
        problems = Problems()
        try:
            match = SIGNED.fullmatch(self.archive.whole("manifest.signature", SMALL_BYTES))
            if match is None:
                raise Spoilt("manifest.signature is not in its form")
            key, signature = (bytes.fromhex(value.decode()) for value in match.groups())
            self.signed_by = key.hex()
            if not is_signed(key, signature, self.manifest_bytes or b""):
                raise Spoilt("the signature is not that of the manifest")
        except Spoilt as why:
            problems.add(str(why))
        self.report["manifest-signature"] = problems.verdict(f"signed by key {self.signed_by}")

    def check_fingerprint(self):
        listed = [name for name in self.names if is_content(name)]
        text = "".join(f"{self.hashes.get(name, '?')}  {name}\n" for name in listed)
        found, problems = hashlib.sha256(text.encode()).hexdigest(), Problems()
        if found != self.manifest["content"]:
            problems.add("tables, entries and photos do not give the fingerprint of the manifest")
        said = f"{self.manifest['content']} over {len(listed)} files"
        self.report["fingerprint"] = problems.verdict(said)

    def check_checkpoint(self):
        problems = Problems()
        try:
            match = CHECKPOINT.fullmatch(self.archive.whole("checkpoint.txt", SMALL_BYTES))
            if match is None:
                raise Spoilt("checkpoint.txt is not in its form")
            self.checkpoint = checkpoint_of(match)
            self._judge_checkpoint(self.checkpoint, problems)
        except Spoilt as why:
            problems.add(str(why))
        said = self.checkpoint.told if self.checkpoint else ""
        self.report["checkpoint"] = problems.verdict(f"{said}: signed")

    def _judge_checkpoint(self, checkpoint, problems):
        if not checkpoint.is_signed():
            problems.add("its signature is not that of its key")
        if checkpoint.key != self.signed_by:
            problems.add("its key is not the one that signed the manifest")
        if checkpoint.site != self.manifest["site"]:
            problems.add("it is of another site")
        if checkpoint.size != self.manifest["entries"]:
            wanted = self.manifest["entries"]
            problems.add(f"it is of {checkpoint.size} entries, the manifest says {wanted}")

    def read_earlier(self):
        try:
            self.earlier = checkpoints_in(self.archive.whole("journal/checkpoints.txt", LIST_BYTES))
        except Spoilt as why:
            self.earlier_why = f"journal/checkpoints.txt: {why}"

    def read_journal(self, bodies):
        sizes = {checkpoint.size for checkpoint in (*self.earlier, *self.given)}
        self.journal = journal = Journal(self.manifest, sizes, bodies)
        journal.read(lines_of(self.archive.pieces("journal/entries.jsonl")))
        self._read_keys()
        self._judge_epoch()
        outside = journal.by_hash - journal.withheld
        said = f"1 to {journal.seq}, {journal.tree.size - journal.by_hash} of them in full"
        if outside:
            said += f", {outside} outside the scope by hash alone"
        if journal.withheld:
            said += (
                f", {journal.withheld} withheld for an owner's reference"
                " (ask for a bundle with names to see them)"
            )
        for restore in journal.restores:
            missing = entries(restore.missing_from, restore.missing_to)
            said += f"; entry {restore.seq} records a restore: {missing} missing"
        self.report["entries"] = journal.problems.verdict(said)

    def _read_keys(self):
        """Take the changes of the key that came after the entries shown."""
        if KEYS not in self.archive.members:
            return
        try:
            changes = read_canonical(self.archive.whole(KEYS, LIST_BYTES))
            if not isinstance(changes, list):
                raise Spoilt("it is no list of changes of the key")
        except Spoilt as why:
            self.keys_why = f"{KEYS}: {why}"
            return
        for place, value in enumerate(changes, start=1):
            told = f"change {place} of {KEYS}"
            self.journal.rotations.append(rotation_of(value, told, self.manifest["site"]))

    def _judge_epoch(self):
        opened = max([restore.epoch for restore in self.journal.restores], default=1)
        if self.checkpoint and self.journal.is_whole and opened != self.checkpoint.epoch:
            self.journal.problems.add(
                f"the checkpoint is of epoch {self.checkpoint.epoch},"
                f" the entries tell of restores up to epoch {opened}"
            )

    def check_root(self):
        if self.checkpoint is None:
            self.report["root"] = NOT_RUN, ["the checkpoint could not be read"]
            return
        problems = Problems()
        if self.journal.tree.root() != self.checkpoint.root_bytes:
            problems.add(f"{self._changed_range()} not those that the checkpoint was signed over")
        said = f"the hashes of all entries give the root that was signed, {self.checkpoint.root}"
        self.report["root"] = problems.verdict(said)

    def _changed_range(self):
        """Name the entries between the last checkpoint that agrees and the first that does not."""
        verdicts = {c.size: self._agrees(c) for c in self.earlier if not self._is_lost(c)}
        size = self.journal.tree.size
        last = min([s for s, is_same in verdicts.items() if not is_same and s <= size] or [size])
        before = max([s for s, is_same in verdicts.items() if is_same and s < last], default=0)
        return entries(before + 1, last)

    def _is_lost(self, checkpoint):
        return checkpoint.size > self.journal.kept(checkpoint.epoch)

    def _agrees(self, checkpoint):
        return self.journal.roots.get(checkpoint.size) == checkpoint.root_bytes

    def check_earlier(self):
        problems = Problems()
        if self.earlier_why:
            problems.add(self.earlier_why)
        changed = self._changed_range()
        for checkpoint in self.earlier:
            for problem in self._problems_of_earlier(checkpoint, changed):
                problems.add(f"checkpoint of {checkpoint.told}: {problem}")
        lost = sum(self._is_lost(checkpoint) for checkpoint in self.earlier)
        said = f"{len(self.earlier)} signed before, and the entries only grew since"
        if not self.earlier:
            said = "none was signed before, or is in this bundle"
        said += f", {lost} of them beyond what a restore kept" if lost else ""
        unled = sum(not self.journal.leads(c.key, self.signed_by) for c in self.earlier)
        said += f", {unled} of them by a key that was lost since" if unled else ""
        self.report["earlier-checkpoints"] = problems.verdict(said)

    def _problems_of_earlier(self, checkpoint, changed):
        if checkpoint.site != self.manifest["site"]:
            yield "it is of another site"
        if not checkpoint.is_signed():
            yield "its signature is not that of its key"
        if not self.journal.leads(checkpoint.key, self.signed_by, past_lost=True):
            yield "no signed change of the key leads from its key to the bundle's"
        if self.checkpoint and checkpoint.epoch > self.checkpoint.epoch:
            yield "it is of a later epoch than the bundle"
        if not self._is_lost(checkpoint) and not self._agrees(checkpoint):
            yield f"{changed} not those that it was signed over"

    def check_proofs(self):
        if self.checkpoint is None or self.earlier_why:
            self.report["proofs"] = NOT_RUN, ["the checkpoints could not be read"]
            return
        problems, proofs = Problems(), []
        try:
            proofs = self._proofs()
        except Spoilt as why:
            problems.add(f"journal/proofs.json: {why}")
        known = {(c.epoch, c.size, c.root) for c in self.earlier}
        for proof in proofs:
            self._judge_proof(proof, known, problems)
        self._judge_oldest(proofs, problems)
        earlier = counted(len(proofs), "earlier checkpoint")
        said = f"{earlier} shown to be the beginning of this history"
        if not proofs:
            said = "none is needed: there is no earlier checkpoint to prove growth from"
        self.report["proofs"] = problems.verdict(said)

    def _proofs(self):
        proofs = read_canonical(self.archive.whole("journal/proofs.json", LIST_BYTES))
        form = {"epoch": is_count, "hashes": is_hashes, "root": like(HEX_64), "size": is_count}
        if not isinstance(proofs, list) or not all(fits(proof, form) for proof in proofs):
            raise Spoilt("it does not say what proofs say")
        return proofs

    def _judge_proof(self, proof, known, problems):
        size, root = proof["size"], bytes.fromhex(proof["root"])
        if (proof["epoch"], size, proof["root"]) not in known:
            problems.add(f"the proof from {size} entries belongs to no checkpoint here")
        hashes = [bytes.fromhex(text) for text in proof["hashes"]]
        now = self.checkpoint
        if not is_consistent(size, root, now.size, now.root_bytes, hashes):
            problems.add(f"the proof from {size} entries does not lead to the checkpoint's root")

    def _judge_oldest(self, proofs, problems):
        needed = [c for c in self.earlier if c.size and not self._is_lost(c)]
        proved = {(proof["epoch"], proof["size"], proof["root"]) for proof in proofs}
        if needed and (needed[0].epoch, needed[0].size, needed[0].root) not in proved:
            problems.add("there is no proof from the oldest checkpoint")

    def check_photos(self):
        problems, wanted = Problems(), self.journal.photos
        names = [name for name in self.names if name.endswith(".jpg")]
        for name in names:
            stem = name[len("photos/") : -len(".jpg")]
            if self.hashes.get(name) != stem:
                problems.add(f"{name} is not the photo that its name is the hash of")
            if stem not in wanted:
                problems.add(f"{name} belongs to no entry of this bundle")
        missing = self._missing_photos(problems)
        for digest, seq in wanted.items():
            if digest in missing:
                why = missing[digest]
                problems.add(f"entry {seq}: {digest} was left out when the bundle was made ({why})")
            elif f"photos/{digest}.jpg" not in self.archive.members:
                problems.add(f"the photo of entry {seq} is not in the bundle: {digest}")
        self.report["photos"] = problems.verdict(f"{len(names)}, each of an entry and unchanged")

    def _missing_photos(self, problems):
        """Return why photos were left out, by their hash."""
        if MISSING_PHOTOS not in self.archive.members:
            return {}
        try:
            text = self.archive.whole(MISSING_PHOTOS, LIST_BYTES).decode("ascii", "replace")
        except Spoilt as why:
            problems.add(f"{MISSING_PHOTOS}: {why}")
            return {}
        problems.add(f"{MISSING_PHOTOS} tells of photos that the site no longer had as they were")
        matches = [MISSING_LINE.fullmatch(line) for line in text.split("\n")]
        return dict(match.groups() for match in matches if match)

    def check_tables(self):
        problems, counts = Problems(), Counts()
        zone = zone_named(self.manifest["zone"])
        elsewhere = self._elsewhere(problems)
        names = [name for name in self.names if name.endswith(".csv")]
        for name in names:
            try:
                self._check_table(name, Compared(self.journal, elsewhere, zone, counts, problems))
            except Spoilt as why:
                problems.add(f"{name}: {why}")
        try:
            self._judge_untold(problems)
        except Spoilt as why:
            problems.add(f"tables/register.csv: {why}")
        said = f"{len(names)} with {counted(counts.rows, 'row')};"
        said += f" {counted(counts.cells, 'cell')} of them as their entries say"
        if counts.elsewhere:
            said += (
                f"; rows of entries in the journal of another site: {counts.elsewhere},"
                " which this bundle does not prove"
            )
        if zone is None:
            said += f"; days to a day's grace: no data here of time zone {self.manifest['zone']}"
        if self.manifest["form"] == 1:
            said += f"; form 1 asks for no lines in {', '.join(sorted(NOT_IN_FORM_1))}, and no keys"
        said += "; what is computed from entries, and the PDFs, are signed and not compared"
        self.report["tables"] = problems.verdict(said)

    def _elsewhere(self, problems):
        """Return the ids of entries that stand in the journal of another site."""
        if ELSEWHERE not in self.archive.members:
            return set()
        try:
            text = self.archive.whole(ELSEWHERE, MANIFEST_BYTES).decode("ascii", "replace")
            ids = text.split("\n")[:-1]
            if ids != sorted(set(ids)) or not all(map(UUID.fullmatch, ids)) or text[-1:] != "\n":
                raise Spoilt("it is no list of ids in their order")
        except Spoilt as why:
            problems.add(f"{ELSEWHERE}: {why}")
            return set()
        for fact_id in ids:
            if key_of(fact_id) in self.journal.places:
                problems.add(f"{ELSEWHERE}: {fact_id} is an entry of this journal")
        return set(ids)

    def _judge_untold(self, problems):
        """Name what stands, of a cart in the register, and is told of in no row."""
        waiting = [
            (seq, key, table, rows)
            for table, due in self.journal.due.items()
            for key, (seq, rows) in due.items()
        ]
        came = self.journal.came
        told, here = self._register_carts() if waiting or came else (set(), set())
        for cart, seq in came.items():
            if cart not in told:
                problems.add(f"tables/register.csv does not tell of the cart of entry {seq}")
        # another site may have taken back what was recorded of a cart that moved
        carts = here - self.journal.moved
        for seq, key, table, rows in sorted(waiting, key=lambda due: due[:3]):
            cart = self.journal.body_at(key).get("cart")
            lines = "" if WHOLE in rows else f"{counted(len(rows), 'line')} of "
            if cart is None or cart in carts:
                problems.add(f"tables/{table} does not tell of {lines}entry {seq}, which stands")

    def _register_carts(self):
        """Return the carts that the register tells of, and those of them that have not gone."""
        rows = rows_of(self.archive.pieces("tables/register.csv"))
        header = next(rows, [])
        if not {"cart_id", "gone_on"} <= set(header):
            raise Spoilt("it does not name the carts")
        cart, gone = header.index("cart_id"), header.index("gone_on")
        found = [(row[cart], row[gone]) for row in rows if len(row) == len(header)]
        return {cart for cart, _gone in found}, {cart for cart, gone in found if not gone}

    def _check_table(self, name, compared):
        """Compare a table's rows with their entries."""
        meta = self._meta(name)
        self._judge_repeats(meta)
        rows = rows_of(self.archive.pieces(name))
        if not meta.fits(next(rows, [])):
            raise Spoilt("its first line is not that of its metadata")
        keys = Keys(meta.key if self.manifest["form"] > 1 else [])
        for count, row in enumerate(rows, start=1):
            if len(row) != len(meta.columns):
                raise Spoilt(f"row {count} has {len(row)} cells, not {len(meta.columns)}")
            compared.counts.rows += 1
            for problem in compared.wrong_cells(row, meta) if meta.told else ():
                compared.problems.add(f"{name} row {count}: {problem}")
            if not keys.is_new(row):
                compared.problems.add(f"{name} row {count}: its key is that of a row above it")

    def _judge_repeats(self, meta):
        """Refuse metadata that says less of entries than the form asks for."""
        is_form_1 = self.manifest["form"] == 1
        if meta.name not in REPEATS or (is_form_1 and meta.name in NOT_IN_FORM_1):
            return
        if not REPEATS[meta.name] <= meta.repeats:
            raise Spoilt("its metadata does not say what of the entries it repeats")
        if not is_form_1 and not meta.is_keyed_by_entry:
            raise Spoilt("its metadata does not say that each entry or line has one row")

    def _meta(self, name):
        try:
            data = self.archive.whole(f"{name}-metadata.json", META_BYTES)
            return Meta(name[len("tables/") :], data)
        except Spoilt as why:
            raise Spoilt(f"its metadata: {why}") from None

    def check_key(self):
        if not self.report.passed("manifest-signature"):
            self.report["key"] = NOT_RUN, ["the manifest bears no signature that holds"]
            return
        problems = Problems()
        if self.keys_why:
            problems.add(self.keys_why)
        lost = []
        for rotation in self.journal.rotations:
            if rotation.is_lost:
                lost.append(f"; {rotation.told} gives up a lost key: none can be followed past it")
            elif not rotation.is_signed:
                problems.add(f"{rotation.told} changes the key, and the old key did not sign it")
        said = self._trust(problems)
        self.report["key"] = problems.verdict(said + "".join(lost[:1]))

    def _trust(self, problems):
        """Return whose key was trusted; it must be the bundle's, or lead to it."""
        if self.wanted_key:
            trusted = [("the public key that you gave", self.wanted_key)]
        else:
            whose = "the key of the checkpoint that you gave"
            trusted = [(whose, given.key) for given in self.given if given.is_signed()]
        for whose, key in trusted:
            if not self.journal.leads(key, self.signed_by):
                problems.add(
                    f"{whose} is {key}; this bundle was signed by {self.signed_by}."
                    " Somebody else may have made it: ask the site which key is theirs"
                )
        if trusted:
            whose, key = trusted[0]
            keys = self.journal.keys_from(key, self.signed_by)
            end = " that this bundle is signed with" if len(keys) > 1 else ""
            return f"trusted: {whose}, {', which signed the key '.join(keys)}{end}"
        return (
            f"trusted: only the bundle's own key, {self.signed_by}. It shows that nothing was"
            " changed since, not who signed: compare it with the key that the site told you"
        )

    def check_given(self):
        if not self.given and self.of_others:
            said = (
                f"{counted(len(self.of_others), 'checkpoint')}, of another site, none of this one"
            )
            self.report["given-checkpoint"] = FAILED, [said]
            return
        if not self.given:
            said = "no earlier checkpoint was given, so nothing is shown about earlier bundles"
            self.report["given-checkpoint"] = NOT_ASKED, [said]
            return
        if self.checkpoint is None:
            self.report["given-checkpoint"] = NOT_RUN, ["the checkpoint could not be read"]
            return
        problems = Problems()
        for given in self.given:
            for problem in self._problems_of_given(given):
                problems.add(f"checkpoint of {given.told}: {problem}")
        said = [f"{given.told}: this history only grew from it" for given in self.given]
        self.report["given-checkpoint"] = problems.verdict(said)

    def _problems_of_given(self, given):
        if not given.is_signed():
            yield "its signature is not that of its key: take it from where it was kept first"
        elif not self.journal.leads(given.key, self.signed_by):
            self.report.is_contradicted = True
            yield "no signed change of the key leads from its key to the bundle's"
        else:
            yield from self._growth_from(given)

    def _growth_from(self, given):
        now = self.checkpoint
        if given.epoch > now.epoch:
            yield f"the bundle is of epoch {now.epoch}. {SIGNED_LATER} was rolled back. {INSTEAD}"
        elif self._is_lost(given):
            yield from self._lost(given)
        elif given.size > now.size:
            missing = entries(now.size + 1, given.size)
            yield (
                f"the bundle is of {now.size} entries: {missing} not here."
                f" {SIGNED_LATER}'s end was cut off. {INSTEAD}"
            )
        elif not self._agrees(given):
            self.report.is_contradicted = True
            same = [other.size for other in self.given if self._agrees(other)]
            before = max([size for size in same if size < given.size], default=0)
            yield f"{entries(before + 1, given.size)} not those that it was signed over: rewritten"

    def _lost(self, given):
        kept = self.journal.kept(given.epoch)
        for restore in self.journal.restores:
            if restore.epoch > given.epoch and restore.kept == kept:
                missing = entries(restore.missing_from, restore.missing_to)
                yield (
                    f"{entries(kept + 1, given.size)} not here. Entry {restore.seq} records that"
                    f" an older database was put back: {missing} missing for good, and a new"
                    f" bundle cannot bring them back; reason: {shown(restore.reason)}"
                )
                return


def is_hashes(value):
    return isinstance(value, list) and len(value) <= 64 and all(like(HEX_64)(v) for v in value)


def shown(text):
    """Return text from the bundle so that it cannot disturb a terminal."""
    plain = "".join(letter if letter.isprintable() else "?" for letter in text[:120])
    return f'"{plain}"'


def check(file, given=(), key=None):
    """Check an open bundle; return the Report and the Bundle, None if it could not be opened.

    Raises CannotBegin for what is no ZIP.
    """
    report = Report()
    try:
        archive = Archive(file)
    except Spoilt as why:
        report["headers"] = FAILED, [str(why)]
        return report, None
    bundle = Bundle(archive, report, given, key)
    bundle.check_all()
    return report, bundle


SAMPLE_NUMBER = re.compile(r"0|[1-9][0-9]{0,17}")
PADDED_DIGITS = 20
SAMPLE_COLUMNS = ("cart_id", "cart", "is_lifted", "left_on", "gone_on")


def sample_of(number, carts):
    """Return the carts to look at, each (id, painted number), in the order drawn.

    As many as the square root of their number plus one, rounded up; ordered by the SHA-256
    of "NUMBER|CART_ID".
    """
    root = math.isqrt(len(carts))
    size = min(len(carts), root + (root * root < len(carts)) + 1)
    return sorted(carts, key=lambda cart: drawn(number, cart[0]))[:size]


def as_painted(cart):
    """Order carts by painted number as people do: 2 before 10, B2 before B10."""
    cart_id, number = cart
    padded = re.sub("[0-9]+", lambda digits: digits[0].zfill(PADDED_DIGITS), number)
    # as browsers compare text
    return padded.encode("utf-16-be", "surrogatepass"), cart_id


def drawn(number, cart_id):
    return hashlib.sha256(f"{number}|{cart_id}".encode()).hexdigest()


def lifted_carts(archive):
    """Return the lifted carts of the register that have not left or gone. Raises Spoilt."""
    rows = rows_of(archive.pieces("tables/register.csv"))
    header = next(rows, [])
    if not set(SAMPLE_COLUMNS) <= set(header):
        raise Spoilt("the register has not the columns that a sample needs")
    places = [header.index(name) for name in SAMPLE_COLUMNS]
    named = ([row[place] for place in places] for row in rows)
    return [(row[0], row[1]) for row in named if row[2:] == ["yes", "", ""]]


def sample_lines(bundle, number):
    try:
        carts = lifted_carts(bundle.archive)
    except Spoilt as why:
        yield f"No sample: {why}"
        return
    chosen = sorted(sample_of(number, carts), key=as_painted)
    yield f"Sample for {number}: {len(chosen)} of {len(carts)} lifted carts, by painted number"
    for place, (cart_id, cart) in enumerate(chosen, start=1):
        yield f"  {place}. cart {shown(cart)}  {cart_id}"


def arguments(argv):
    """Return what was asked. Raises CannotBegin with what to type."""
    parser = argparse.ArgumentParser(description="Check an audit bundle of cart records.")
    parser.add_argument("bundle", help="the ZIP file as it was downloaded")
    parser.add_argument(
        "--checkpoint",
        nargs="+",
        action="extend",
        default=[],
        metavar="FILE",
        help="an earlier checkpoint of the site, as it was mailed or printed",
    )
    parser.add_argument("--key", metavar="HEX", help="the public key that you know the site by")
    parser.add_argument("--sample", metavar="NUMBER", help="a number to draw carts to look at by")
    asked = parser.parse_args(argv)
    asked.key = asked.key and "".join(asked.key.split()).lower()
    if asked.key and not HEX_64.fullmatch(asked.key):
        raise CannotBegin("--key takes the 64 hex digits of the site's public key")
    if asked.sample is not None and not SAMPLE_NUMBER.fullmatch(asked.sample):
        raise CannotBegin("--sample takes a number of 1 to 18 digits, without a zero before it")
    return asked


def read_given(names):
    """Return the checkpoints in files, and what to say of files that hold none.

    Raises CannotBegin where no file holds one.
    """
    found, empty = [], []
    for name in names:
        with open(name, "rb") as file:
            data = file.read(LIST_BYTES + 1)
        if len(data) > LIST_BYTES:
            raise CannotBegin(f"{name} is too long for a checkpoint: give the text alone")
        try:
            found += given_checkpoints(name, data.decode("utf-8", "replace"))
        except NoCheckpoint as why:
            empty.append((name, why))
    if empty and not found:
        raise empty[0][1]
    return found, [f"{name} holds no checkpoint: left out" for name, _why in empty]


def say(line):
    sys.stdout.write(f"{line}\n")


def about(bundle):
    said = bundle.manifest
    yield f"Site: {shown(said['site_name'])} ({said['site']})"
    yield f"As of: happened by {said['happened_by'][:19]}, known by {said['known_by'][:19]} UTC"
    scope = "lifted carts only" if said["lifted_only"] else "all carts"
    since = f", from {said['from_day']} on" if said["from_day"] else ""
    yield f"Scope: {scope}{since}. Made {said['made_at'][:19]} UTC by {shown(said['made_by'])}"
    if bundle.of_others:
        own, others = len(bundle.given), len(bundle.of_others)
        yield f"Checkpoints given: {own} of this site, {others} of another site left out"


def run(asked):
    given, left_out = read_given(asked.checkpoint)
    with open(asked.bundle, "rb") as file:
        report, bundle = check(file, given, asked.key)
        for line in left_out:
            say(line)
        if bundle and bundle.manifest:
            for line in about(bundle):
                say(line)
        for line in report.lines():
            say(line)
        if asked.sample and report.is_clean:
            for line in sample_lines(bundle, asked.sample):
                say(line)
    return conclude(report, asked)


def conclude(report, asked):
    if not report.is_clean:
        if asked.sample:
            say("No sample is drawn where a check failed.")
        say(report.closing)
    say(report.conclusion)
    return NOTHING_FAILED if report.is_clean else SOMETHING_FAILED


def main(argv=None):
    if sys.version_info < OLDEST_PYTHON:
        say("This needs Python 3.9 or later: install it, or open check.html in a browser.")
        return NOT_CHECKED
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        return run(arguments(argv))
    except CannotBegin as why:
        say(f"Nothing was checked: {why}.")
    except OSError as why:
        say(f"Nothing was checked: {why.filename or 'a file'} cannot be read ({why.strerror}).")
    except KeyboardInterrupt:
        say("Broken off: nothing is shown.")
    except Exception as why:
        # a stranger must never see a traceback, nor take silence for consent
        say(f"Broken off by {type(why).__name__}: nothing is shown. Tell the site about it.")
    return NOT_CHECKED


if __name__ == "__main__":
    sys.exit(main())
