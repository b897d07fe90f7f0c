"""Writes a ZIP in the one form that the bundle has: entries back to back, no dates, no extras.

By PKWARE's APPNOTE 6.3: sizes and CRC-32 stand in each local header, nothing follows the data,
and ZIP64 is used only for an entry or an archive that needs it. The same files give the same
bytes. Reading and checking that form is up to the checkers.
"""

import hashlib
import os
import struct
import zlib
from dataclasses import dataclass
from pathlib import Path

# six times as quick as the usual level, for a file a tenth larger
DEFLATE_LEVEL = 1
PIECE_BYTES = 2**20
PACKED_ALREADY = (".jpg", ".pdf")
# deflated data has bits that say nothing: what no SHA-256 covers lies as it is
SIGNED_AS_IT_LIES = ("manifest.json", "manifest.signature")
STORED, DEFLATED = 0, 8
NEEDED, NEEDED_64 = 20, 45
MADE_ON_UNIX = 3 << 8
# 1980-01-01 00:00, the first that a ZIP can tell
NO_TIME, NO_DATE = 0, 1 << 5 | 1
OWNER_READS_AND_WRITES = 0o600 << 16
FULL_16, FULL_32 = 2**16 - 1, 2**32 - 1

LOCAL = struct.Struct("<4s5H3L2H")
CENTRAL = struct.Struct("<4s6H3L5H2L")
END = struct.Struct("<4s4H2LH")
END_64 = struct.Struct("<4sQ2H2L4Q")
LOCATOR_64 = struct.Struct("<4sLQL")


@dataclass(frozen=True)
class Packed:
    """One file as it lies in the ZIP: what its headers say, its SHA-256 and that of its data."""

    name: str
    offset: int
    size: int
    packed_size: int
    crc: int
    sha256: str
    packed_sha256: str

    @property
    def method(self):
        is_stored = self.name.endswith(PACKED_ALREADY) or self.name in SIGNED_AS_IT_LIES
        return STORED if is_stored else DEFLATED

    @property
    def is_wide(self):
        return self.size >= FULL_32

    @property
    def needed(self):
        return NEEDED_64 if self.is_wide or self.offset >= FULL_32 else NEEDED

    def local_header(self) -> bytes:
        sizes = (FULL_32, FULL_32) if self.is_wide else (self.packed_size, self.size)
        more = _extra([self.size, self.packed_size] if self.is_wide else [])
        name = self.name.encode("ascii")
        fields = (self.needed, 0, self.method, NO_TIME, NO_DATE, self.crc, *sizes)
        return LOCAL.pack(b"PK\3\4", *fields, len(name), len(more)) + name + more

    def central_header(self) -> bytes:
        far = self.offset >= FULL_32
        sizes = (FULL_32, FULL_32) if self.is_wide else (self.packed_size, self.size)
        wide = [self.size, self.packed_size] if self.is_wide else []
        more = _extra([*wide, self.offset] if far else wide)
        name = self.name.encode("ascii")
        fields = (self.needed, 0, self.method, NO_TIME, NO_DATE, self.crc, *sizes)
        place = (0, 0, 0, OWNER_READS_AND_WRITES, FULL_32 if far else self.offset)
        head = CENTRAL.pack(
            b"PK\1\2", MADE_ON_UNIX | self.needed, *fields, len(name), len(more), *place
        )
        return head + name + more


def _extra(values):
    """Return the ZIP64 extra field of these values, nothing for none."""
    size = 8 * len(values)
    return struct.pack(f"<2H{len(values)}Q", 1, size, *values) if values else b""


class ZipWriter:
    """A ZIP file in the making; ``finish`` leaves it whole on the disk."""

    def __init__(self, path: Path):
        self.file = path.open("xb")
        self.packed: list[Packed] = []

    def __enter__(self):
        return self

    def __exit__(self, *_error):
        self.file.close()

    def add_bytes(self, name: str, data: bytes) -> Packed:
        return self.add(name, len(data), [data])

    def add_file(self, name: str, path: Path) -> Packed:
        with path.open("rb") as file:
            return self.add(name, os.fstat(file.fileno()).st_size, pieces_of(file))

    def add(self, name: str, size: int, pieces) -> Packed:
        """Add a file of a size that is known, piece by piece. Raises ValueError for another."""
        offset = self.file.tell()
        start = Packed(name, offset, size, 0, 0, "", "")
        self.file.write(start.local_header())
        begun = self.file.tell()
        crc, *sums = self._write(pieces, start)
        end = self.file.tell()
        done = Packed(name, offset, size, end - begun, crc, *sums)
        if not done.is_wide and done.packed_size >= FULL_32:
            raise ValueError(f"{name} is too large once packed")
        self.file.seek(offset)
        self.file.write(done.local_header())
        self.file.seek(end)
        self.packed.append(done)
        return done

    def _write(self, pieces, start):
        crc, size = 0, 0
        sha256, packed_sha256 = hashlib.sha256(), hashlib.sha256()
        packer = _packer() if start.method == DEFLATED else _Bare()
        for piece in pieces:
            size += len(piece)
            crc = zlib.crc32(piece, crc)
            sha256.update(piece)
            self._put(packer.compress(piece), packed_sha256)
        self._put(packer.flush(), packed_sha256)
        if size != start.size:
            raise ValueError(f"{start.name} has {size} bytes, not the {start.size} that it had")
        return crc, sha256.hexdigest(), packed_sha256.hexdigest()

    def _put(self, data, digest):
        digest.update(data)
        self.file.write(data)

    def finish(self) -> None:
        begun = self.file.tell()
        for packed in self.packed:
            self.file.write(packed.central_header())
        self.file.write(_end(len(self.packed), self.file.tell() - begun, begun))
        self.file.flush()
        os.fsync(self.file.fileno())


class _Bare:
    """Packs nothing: the data lies in the ZIP as it is."""

    def compress(self, data):
        return data

    def flush(self):
        return b""


def _packer():
    return zlib.compressobj(DEFLATE_LEVEL, zlib.DEFLATED, -zlib.MAX_WBITS)


def _end(count, size, begun):
    end = END.pack(
        b"PK\5\6",
        0,
        0,
        *(min(count, FULL_16),) * 2,
        min(size, FULL_32),
        min(begun, FULL_32),
        0,
    )
    if count < FULL_16 and size < FULL_32 and begun < FULL_32:
        return end
    fields = (MADE_ON_UNIX | NEEDED_64, NEEDED_64, 0, 0, count, count, size, begun)
    wide = END_64.pack(b"PK\6\6", END_64.size - 12, *fields)
    return wide + LOCATOR_64.pack(b"PK\6\7", 0, begun + size, 1) + end


def pieces_of(file):
    """Yield what an open file still holds."""
    while piece := file.read(PIECE_BYTES):
        yield piece
