"""Twenty ways in which a ZIP can be damaged or made to deceive, each at random."""

import io
import struct
import zipfile
import zlib

from tests.fleet.checkers.building import ENTRIES, deflated, member, zipped

CENTRAL, END = b"PK\x01\x02", b"PK\x05\x06"
# needed, flags, method, time, date, CRC-32
LOCAL_FIELDS = (4, 6, 8, 10, 12, 14)


def flip_bit(files, random):
    data = bytearray(zipped(files))
    data[random.randrange(len(data))] ^= 1 << random.randrange(8)
    return bytes(data)


def change_byte(files, random):
    data = bytearray(zipped(files))
    place = random.randrange(len(data))
    data[place] = (data[place] + random.randrange(1, 256)) % 256
    return bytes(data)


def pad_bits(files, random):
    """Set a bit that deflate leaves unused: it unpacks to the same."""
    data = bytearray(zipped(files))
    name = random.choice([name for name in files if member(name).compress_type])
    end = data.index(deflated(name, files[name])) + len(deflated(name, files[name]))
    data[end - 1] |= 0x80
    return bytes(data) if data[end - 1] != deflated(name, files[name])[-1] else b"PK\3\4"


def cut_short(files, random):
    data = zipped(files)
    return data[: random.randrange(len(data))]


def junk_before(files, random):
    return random.randbytes(random.randrange(1, 200)) + zipped(files)


def junk_after(files, random):
    return zipped(files) + random.randbytes(random.randrange(1, 200))


def hole(files, random):
    data = zipped(files)
    start = random.randrange(len(data))
    return data[:start] + data[start + random.randrange(1, 400) :]


def filled(files, random):
    data = zipped(files)
    place = random.randrange(len(data))
    return data[:place] + random.randbytes(random.randrange(1, 60)) + data[place:]


def doubled_name(files, random):
    pairs = list(files.items())
    pairs.insert(random.randrange(len(pairs)), random.choice(pairs))
    return zipped(pairs)


def other_order(files, random):
    pairs = list(files.items())
    place = random.randrange(len(pairs) - 1)
    pairs[place : place + 2] = reversed(pairs[place : place + 2])
    return zipped(pairs)


def with_info(files, random, **values):
    """Return a ZIP in which one member's header has other values."""
    odd, data = random.choice(list(files)), io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        for name, content in files.items():
            info = member(name)
            for key, value in values.items() if name == odd else ():
                setattr(info, key, value)
            archive.writestr(info, content)
    return data.getvalue()


def extra_field(files, random):
    return with_info(files, random, extra=b"\xfe\xca\x04\x00abcd")


def file_comment(files, random):
    return with_info(files, random, comment=b"read me")


def dated(files, random):
    return with_info(files, random, date_time=(2026, 11, 25, 6, 0, 0))


def other_rights(files, random):
    return with_info(files, random, external_attr=random.randrange(1, 2**16) << 16)


def archive_comment(files, random):
    data = io.BytesIO(zipped(files))
    with zipfile.ZipFile(data, "a") as archive:
        archive.comment = random.randbytes(12)
    return data.getvalue()


class Unseekable(io.RawIOBase):
    """Makes zipfile write sizes after the data."""

    def __init__(self):
        self.data = bytearray()

    def writable(self):
        return True

    def write(self, data):
        self.data += data
        return len(data)


def data_descriptor(files, random):
    target = Unseekable()
    with zipfile.ZipFile(target, "w") as archive:
        for name, content in files.items():
            archive.writestr(member(name), content)
    return bytes(target.data)


def wide_lie(files, random):
    """A member claims ZIP64 sizes that its data has not."""
    name = random.choice(list(files))
    data, info = io.BytesIO(), member(name)
    with zipfile.ZipFile(data, "w") as archive:
        for other, content in files.items():
            with archive.open(member(other), "w", force_zip64=other == info.filename) as file:
                file.write(content)
    return data.getvalue()


def other_method(files, random):
    data, odd = io.BytesIO(), random.choice(list(files))
    with zipfile.ZipFile(data, "w") as archive:
        for name, content in files.items():
            info = member(name)
            if name == odd:
                info.compress_type = 8 - info.compress_type
            archive.writestr(info, content)
    return data.getvalue()


def path_trick(files, random):
    names = [
        "../evil.py",
        "/etc/passwd",
        "tables/../x.csv",
        "tables\\x.csv",
        "tables/",
        "a\0b",
        "é",
    ]
    pairs = list(files.items())
    pairs.insert(random.randrange(len(pairs)), (random.choice(names), b"x"))
    return zipped(pairs)


def bomb(files, random):
    """One file unpacks to a thousand times its size."""
    return zipped({**files, random.choice(["README.txt", ENTRIES]): bytes(20_000_000)})


def header_lie(files, random):
    """A field says something else, in the local header, the directory or both."""
    data = bytearray(zipped(files))
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        info = random.choice(archive.infolist())
    central = data.rindex(info.filename.encode(), 0, data.rindex(END)) - 46
    place = random.choice(LOCAL_FIELDS)
    where = random.choice([[info.header_offset + place], [central + place + 2]])
    for at in where:
        (value,) = struct.unpack_from("<H", data, at)
        struct.pack_into("<H", data, at, (value + random.randrange(1, 2**16)) % 2**16)
    return bytes(data)


def swollen_size(files, random):
    """A header says another unpacked size, the directory agrees."""
    data, name = zipped(files), random.choice(list(files))
    size = struct.pack("<L", len(files[name]))
    lie = struct.pack("<L", random.randrange(2**31))
    crc = struct.pack("<L", zlib.crc32(files[name]))
    packed = struct.pack("<L", len(deflated(name, files[name])))
    return data.replace(crc + packed + size, crc + packed + lie)


DAMAGES = [
    flip_bit,
    change_byte,
    pad_bits,
    cut_short,
    junk_before,
    junk_after,
    hole,
    filled,
    doubled_name,
    other_order,
    extra_field,
    file_comment,
    dated,
    other_rights,
    archive_comment,
    data_descriptor,
    wide_lie,
    other_method,
    path_trick,
    bomb,
    header_lie,
    swollen_size,
]
