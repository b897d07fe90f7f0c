"""A ZIP's headers, read by their layout in PKWARE's APPNOTE 6.3 alone."""

import struct
import zlib

LOCAL = "<4s5H3L2H"
CENTRAL = "<4s6H3L5H2L"
END = "<4s4H2LH"
FIELDS = ("needed", "flags", "method", "time", "date", "crc", "packed", "size")


def taken_apart(data: bytes):
    """Return [(local header, central header, bytes)] of each entry, and the end record.

    A header is a dict. Asserts that nothing lies between the parts, before or after them.
    """
    end_size = struct.calcsize(END)
    end = struct.unpack(END, data[-end_size:])
    assert end[0] == b"PK\5\6"
    count, size, begun = end[4], end[5], end[6]
    centrals = _centrals(data[begun : begun + size])
    assert len(centrals) == count and begun + size + end_size == len(data)
    entries, place = [], 0
    for central in centrals:
        assert central["offset"] == place
        local, content, place = _local(data, place)
        entries.append((local, central, content))
    assert place == begun
    return entries, end


def _centrals(data):
    found, place = [], 0
    head = struct.calcsize(CENTRAL)
    while place < len(data):
        fields = struct.unpack_from(CENTRAL, data, place)
        assert fields[0] == b"PK\1\2"
        lengths = fields[10:13]
        name = data[place + head : place + head + lengths[0]].decode("ascii")
        found.append(
            {
                "name": name,
                "made": fields[1],
                **dict(zip(FIELDS, fields[2:10], strict=True)),
                "extra": lengths[1],
                "comment": lengths[2],
                "disk": fields[13],
                "internal": fields[14],
                "external": fields[15],
                "offset": fields[16],
            }
        )
        place += head + sum(lengths)
    return found


def _local(data, place):
    head = struct.calcsize(LOCAL)
    fields = struct.unpack_from(LOCAL, data, place)
    assert fields[0] == b"PK\3\4"
    header = dict(zip(FIELDS, fields[1:9], strict=True))
    begun = place + head + fields[9] + fields[10]
    name = data[place + head : place + head + fields[9]].decode("ascii")
    packed = data[begun : begun + header["packed"]]
    content = packed
    if header["method"]:
        unpacker = zlib.decompressobj(-zlib.MAX_WBITS)
        content = unpacker.decompress(packed)
        assert unpacker.eof and not unpacker.unused_data
    return {"name": name, "extra": fields[10], **header}, content, begun + header["packed"]
