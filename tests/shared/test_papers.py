"""Files kept as they came: what is taken, under which name, and how it is handed out."""

import hashlib
import io
from contextlib import closing

import pytest
from PIL import Image

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
from shared.photos import NOT_A_PHOTO

PDF = b"%PDF-1.7\nsheet 3"
GPS, NORTH = 0x8825, {1: "N", 2: (28.0, 23.0, 7.0)}  # EXIF 2.3, tags


def sent(content, name="sheet.pdf"):
    file = io.BytesIO(content)
    file.name = name
    return file


def picture(form):
    exif = Image.Exif()
    exif[GPS] = NORTH
    file = io.BytesIO()
    Image.new("RGB", (40, 30), "navy").save(file, form, exif=exif)
    return file.getvalue()


def given(paper):
    with closing(handed_out(paper, "sheets")) as answer:
        return answer, b"".join(answer.streaming_content)


@pytest.mark.django_db  # an answer that is closed looks after the connections
def test_a_pdf_is_kept_by_its_sha256_and_handed_out_as_it_came():
    paper = take(sent(PDF, "Harrow sheet.bin"), "sheets")

    answer, content = given(paper)

    assert path_of("sheets", paper.sha256).read_bytes() == content == PDF
    assert paper.copy_sha256 == ""
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'attachment; filename="Harrow sheet.bin"'
    assert answer["X-Content-Type-Options"] == "nosniff"


@pytest.mark.django_db
@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_of_a_picture_the_original_is_kept_and_a_copy_without_position_handed_out(form):
    original = picture(form)
    with Image.open(io.BytesIO(original)) as was:
        assert was.getexif().get_ifd(GPS)
    paper = take(sent(original, "sheet.png"), "sheets")

    answer, content = given(paper)

    assert path_of("sheets", paper.sha256).read_bytes() == original
    assert paper.copy_sha256 == hashlib.sha256(content).hexdigest() != paper.sha256
    with Image.open(io.BytesIO(content)) as shown:
        assert (dict(shown.getexif()), shown.size, shown.format) == ({}, (40, 30), "JPEG")
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Disposition"] == 'attachment; filename="sheet.jpg"'


@pytest.mark.django_db
def test_a_picture_kept_without_a_copy_is_handed_out_as_one_all_the_same():
    paper = take(sent(picture("JPEG")), "sheets")

    _answer, content = given(Paper("old.jpeg", paper.sha256))

    assert content == path_of("sheets", paper.copy_sha256).read_bytes()


def test_what_begins_like_a_picture_and_is_none_is_refused_and_not_kept(settings):
    with pytest.raises(PaperRefused) as refused:
        take(sent(picture("PNG")[:60]), "sheets")

    assert refused.value.why == NOT_A_PHOTO
    assert not list(settings.MEDIA_ROOT.rglob("*"))


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
