"""Files kept as they came: what is taken, under which name, and how it is handed out."""

import io
from contextlib import closing

import pytest

from shared.papers import (
    LARGEST_BYTES,
    NOT_A_PAPER,
    TOO_LARGE,
    Paper,
    PaperRefused,
    handed_out,
    path_of,
    short_name,
    take,
)

PDF = b"%PDF-1.7\nsheet 3"
WEBP = b"RIFF\x10\x00\x00\x00WEBPVP8 "
PNG = b"\x89PNG\r\n\x1a\n...."


def sent(content, name="sheet.pdf"):
    file = io.BytesIO(content)
    file.name = name
    return file


@pytest.mark.django_db  # an answer that is closed looks after the connections
@pytest.mark.parametrize(
    ("content", "is_of"),
    [
        (PDF, "application/pdf"),
        (b"\xff\xd8\xff\xe0", "image/jpeg"),
        (PNG, "image/png"),
        (WEBP, "image/webp"),
    ],
)
def test_a_paper_is_kept_by_its_sha256_and_handed_out_as_a_download(content, is_of):
    paper = take(sent(content, "Harrow sheet.bin"), "sheets")

    with closing(handed_out(paper, "sheets")) as answer:
        given = b"".join(answer.streaming_content)

    assert path_of("sheets", paper.sha256).read_bytes() == content
    assert given == content
    assert answer["Content-Type"] == is_of
    assert answer["Content-Disposition"] == 'attachment; filename="Harrow sheet.bin"'
    assert answer["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", NOT_A_PAPER),
        (b"<html>%PDF-", NOT_A_PAPER),
        (b"GIF89a", NOT_A_PAPER),
        (b"RIFF....WAVE", NOT_A_PAPER),
        (PDF + bytes(LARGEST_BYTES), TOO_LARGE),
    ],
)
def test_what_is_no_paper_is_refused_and_not_kept(content, why, settings):
    with pytest.raises(PaperRefused) as refused:
        take(sent(content), "sheets")

    assert refused.value.why == why
    assert not list(settings.MEDIA_ROOT.rglob("*"))


def test_a_paper_of_the_largest_size_is_taken():
    assert take(sent(PDF + bytes(LARGEST_BYTES - len(PDF))), "sheets").name == "sheet.pdf"


def test_a_paper_taken_twice_is_one_file(settings):
    first, again = take(sent(PDF, "a.pdf"), "sheets"), take(sent(PDF, "b.pdf"), "sheets")

    assert first.sha256 == again.sha256
    assert len([path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()]) == 1


def test_a_paper_gone_from_the_disk_is_said():
    with pytest.raises(FileNotFoundError):
        handed_out(Paper("sheet.pdf", "0" * 64), "sheets")


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("sheet.pdf", "sheet.pdf"),
        ("../../etc/sheet.pdf", "sheet.pdf"),
        ("C:\\papers\\sheet.pdf", "sheet.pdf"),
        ("x" * 200 + ".pdf", "x" * 116 + ".pdf"),
    ],
)
def test_a_name_is_kept_without_folders_and_not_too_long(name, short):
    assert short_name(name) == short
