"""Files that are refused: other kinds, damaged ones and bombs."""

import io
import zipfile

import pytest

from fleet.sheets import SheetError, read_sheet
from tests.fleet.sheet_samples import (
    CARTS,
    HEADINGS,
    NUMBER,
    ROW,
    shared_strings_workbook,
    with_member,
    xlsx_bytes,
)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", r"carts.xlsx is empty"),
        (b" \r\n \n", r"carts.xlsx is empty"),
        (b"\xef\xbb\xbf", r"carts.xlsx is empty"),
        (b"%PDF-1.7 ...", r"another kind \(PDF\)"),
        (b"<!doctype html><table>", r"another kind \(HTML\)"),
        (bytes.fromhex("d0cf11e0a1b11ae1") + b"\0" * 600, r"old .xls form"),
        (
            bytes.fromhex("d0cf11e0a1b11ae1") + "EncryptedPackage".encode("utf-16-le"),
            r"locked with a password",
        ),
        (b"PK\x03\x04 and then nothing", r"damaged"),
        (b"Cart\0\x01\x02", r"neither an XLSX workbook nor a text file"),
    ],
)
def test_other_files_are_refused_with_what_to_do(content, message):
    with pytest.raises(SheetError, match=message):
        read_sheet(content, "carts.xlsx", CARTS)


def test_a_zip_that_holds_no_workbook_is_refused():
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as made:
        made.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")

    with pytest.raises(SheetError, match=r"no workbook in the \.xlsx form"):
        read_sheet(archive.getvalue(), "carts.xlsx", CARTS)


def test_a_zip_bomb_is_refused_while_it_unpacks():
    bomb = with_member(xlsx_bytes([HEADINGS, ROW]), "xl/media/zeros.bin", bytes(30_000_000))
    assert len(bomb) < 60_000

    with pytest.raises(SheetError, match=r"unpacks to more than is read"):
        read_sheet(bomb, "carts.xlsx", CARTS)


def test_a_bomb_that_lies_about_its_size_is_refused():
    bomb = bytearray(with_member(xlsx_bytes([HEADINGS, ROW]), "xl/media/x.bin", bytes(30_000_000)))
    size = (30_000_000).to_bytes(4, "little")
    while (place := bomb.find(size)) >= 0:
        bomb[place : place + 4] = (10).to_bytes(4, "little")

    with pytest.raises(SheetError, match=r"damaged"):
        read_sheet(bytes(bomb), "carts.xlsx", CARTS)


def test_too_many_members_are_refused():
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as made:
        for index in range(1_001):
            made.writestr(f"{index}.xml", "")

    with pytest.raises(SheetError, match=r"holds 1001 parts; at most 1000"):
        read_sheet(archive.getvalue(), "carts.xlsx", CARTS)


def test_xml_entities_are_refused():
    bomb = b'<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><worksheet>&b;</worksheet>'
    content = with_member(xlsx_bytes([HEADINGS, ROW]), "xl/worksheets/sheet1.xml", bomb)

    with pytest.raises(SheetError, match=r"damaged"):
        read_sheet(content, "carts.xlsx", CARTS)


def test_a_text_that_is_not_there_is_damage():
    content = shared_strings_workbook(["Cart"], [[0], [9]])

    with pytest.raises(SheetError, match=r"damaged"):
        read_sheet(content, "x.xlsx", [NUMBER])
