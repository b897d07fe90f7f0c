"""What is inside an XLSX file before it is trusted: a zip of limited size. Pure."""

import zipfile
import zlib

from fleet.sheet_grid import Content, Limits, bytes_of, opened
from fleet.sheet_words import SheetError, gettext_noop

CHUNK_BYTES = 1 << 16
FREE_UNPACKED_BYTES = 1_000_000
"""A file that unpacks to less than this may be packed as tightly as it likes."""

ZIP = b"PK\x03\x04"
OLE = bytes.fromhex("d0cf11e0a1b11ae1")
ENCRYPTED_PACKAGE = "EncryptedPackage".encode("utf-16-le")
OTHER_FORMATS = {
    b"%PDF": "PDF",
    b"\x89PNG": "PNG",
    b"\xff\xd8\xff": "JPEG",
    b"\x1f\x8b": "GZIP",
    b"Rar!": "RAR",
    b"7z\xbc\xaf": "7-Zip",
    b"{\\rtf": "RTF",
    b"<html": "HTML",
    b"<!DOCTYPE": "HTML",
    b"<table": "HTML",
    b"<?xml": "XML",
}

OLD_XLS = gettext_noop(
    "%(name)s is a workbook in the old .xls form. "
    "Open it in your spreadsheet program and save it as .xlsx or .csv."
)
ENCRYPTED = gettext_noop(
    "%(name)s is locked with a password. "
    "Open it in your spreadsheet program, take the password off, and save it again."
)
OTHER = gettext_noop(
    "%(name)s is a file of another kind (%(format)s). "
    "Open it in the program it came from and save the table as .xlsx or .csv."
)
BROKEN = gettext_noop(
    "%(name)s is damaged and cannot be read as a workbook. "
    "Open it in your spreadsheet program and save it again as .xlsx or .csv."
)
NO_WORKBOOK = gettext_noop(
    "%(name)s holds no workbook in the .xlsx form. "
    "Open it in the program it came from and save the table as .xlsx or .csv."
)
TOO_MANY_MEMBERS = gettext_noop(
    "%(name)s holds %(members)d parts; at most %(most)d are read. "
    "Copy the table into a new workbook, or save it as .csv."
)
UNPACKS_TOO_LARGE = gettext_noop(
    "%(name)s unpacks to more than is read (%(most)d MB, or %(ratio)d times its size). "
    "Copy the table into a new workbook, or save it as .csv."
)
TOO_INTRICATE = gettext_noop(
    "%(name)s holds more cells and formats than are read. "
    "Copy the table into a new workbook, or save it as .csv."
)


def refuse_other_formats(content: Content, name: str) -> None:
    """Raise SheetError for a file that its first bytes show to be something else."""
    with opened(content) as file:
        start = file.read(64)
        if start.startswith(OLE):
            is_locked = ENCRYPTED_PACKAGE in start + file.read()
            raise SheetError(ENCRYPTED if is_locked else OLD_XLS, name=name)
    start = start.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    for mark, other in OTHER_FORMATS.items():
        if start.startswith(mark.lower()):
            raise SheetError(OTHER, name=name, format=other)


def refuse_bombs(content: Content, name: str, limits: Limits) -> None:
    """Unpack every member without keeping it; raise SheetError past any limit.

    Counts the bytes that come out: what a zip's header declares is only a claim.
    """
    try:
        with opened(content) as file, zipfile.ZipFile(file) as archive:
            _count(archive, bytes_of(content), name, limits)
    except RuntimeError as locked:
        raise SheetError(ENCRYPTED, name=name) from locked
    except (zipfile.BadZipFile, zlib.error, OSError, EOFError, ValueError) as broken:
        if isinstance(broken, SheetError):
            raise
        raise SheetError(BROKEN, name=name) from broken


def _count(archive: zipfile.ZipFile, packed_bytes: int, name: str, limits: Limits) -> None:
    members = archive.infolist()
    if len(members) > limits.members:
        raise SheetError(TOO_MANY_MEMBERS, name=name, members=len(members), most=limits.members)
    most_bytes = min(limits.unpacked_bytes, max(FREE_UNPACKED_BYTES, packed_bytes * limits.ratio))
    unpacked_bytes = tags = 0
    for member in members:
        for chunk in _chunks(archive, member, name):
            unpacked_bytes += len(chunk)
            tags += chunk.count(b"<")
            if unpacked_bytes > most_bytes:
                most = limits.unpacked_bytes // 1_000_000
                raise SheetError(UNPACKS_TOO_LARGE, name=name, most=most, ratio=limits.ratio)
            if tags > limits.tags:
                raise SheetError(TOO_INTRICATE, name=name)
    if "[Content_Types].xml" not in archive.namelist():
        raise SheetError(NO_WORKBOOK, name=name)


def _chunks(archive: zipfile.ZipFile, member: zipfile.ZipInfo, name: str):
    # Other methods unpack a chunk without bound, and no spreadsheet program writes them.
    if member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise SheetError(BROKEN, name=name)
    with archive.open(member) as unpacked:
        while chunk := unpacked.read(CHUNK_BYTES):
            yield chunk
