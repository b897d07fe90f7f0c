"""Photos: what is kept and shown, and what hostile files come to."""

import hashlib
import io
import json
import os
import signal
import struct
import subprocess
import sys
import zlib
from datetime import timedelta

import pytest
from PIL import Image

from shared import photo_child, photos
from shared.facts import OtherBody, record
from shared.models import Entry, Photo, new_id
from shared.photos import PhotoRefused, copy_path, find_same, original_path, take
from tests.factories import MORNING, PersonFactory, SiteFactory

GPS, ORIENTATION, MAKER = 0x8825, 0x0112, 0x010F  # EXIF 2.3, tags
TURNED_RIGHT = 6


def encoded(image, form="JPEG", **options):
    file = io.BytesIO()
    image.save(file, form, **options)
    return file.getvalue()


def shades(width=64, height=48, mode="RGB"):
    return Image.linear_gradient("L").resize((width, height)).convert(mode)


def taken(content, **fact):
    return take(io.BytesIO(content), **fact)


def reason(content):
    with pytest.raises(PhotoRefused) as refused:
        taken(content)
    return refused.value.why


def files(settings):
    return sorted(path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file())


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_take_keeps_the_original_and_a_jpeg_copy(settings, form):
    original = encoded(shades(), form)

    photo = taken(original, shows=Photo.Shows.TAG)

    assert photo.shows == "tag"
    assert original_path(photo).read_bytes() == original
    assert photo.original_sha256 == hashlib.sha256(original).hexdigest()
    copy = copy_path(photo).read_bytes()
    assert photo.copy_sha256 == hashlib.sha256(copy).hexdigest()
    assert files(settings) == sorted([original_path(photo), copy_path(photo)])
    with Image.open(io.BytesIO(copy)) as shown:
        assert (shown.format, shown.mode, shown.size) == ("JPEG", "RGB", (64, 48))
        assert shown.getpixel((32, 24))[0] == pytest.approx(128, abs=8)
    assert (photo.width, photo.height) == (64, 48)


def test_the_copy_has_no_position_and_stands_upright():
    exif = Image.Exif()
    exif[GPS] = {1: "N", 2: (28.0, 23.0, 7.0), 3: "W", 4: (81.0, 34.0, 9.0)}
    exif[ORIENTATION] = TURNED_RIGHT
    exif[MAKER] = "Findable Maker"
    original = encoded(shades(64, 48), exif=exif, comment=b"Findable comment")

    photo = taken(original)

    assert b"Findable Maker" in original_path(photo).read_bytes()
    copy = copy_path(photo).read_bytes()
    assert (photo.width, photo.height) == (48, 64)
    with Image.open(io.BytesIO(copy)) as shown:
        assert (dict(shown.getexif()), shown.size) == ({}, (48, 64))
    for trace in (b"Exif", b"Findable", b"GPS", b"http://ns.adobe.com"):
        assert trace not in copy


@pytest.mark.parametrize(
    "notes",
    [b"II*\0\x08\0\0\0\x05\0", b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03", b"", b"garbage"],
)
def test_broken_camera_notes_do_not_cost_the_photo(notes):
    assert taken(encoded(shades(), exif=b"Exif\0\0" + notes)).width == 64


def test_a_large_photo_is_shown_smaller():
    photo = taken(encoded(shades(3200, 1000)))

    assert (photo.width, photo.height) == (1600, 500)


def test_see_through_parts_turn_white():
    photo = taken(encoded(Image.new("RGBA", (8, 8), (0, 0, 0, 0)), "PNG"))

    with Image.open(copy_path(photo)) as shown:
        assert shown.getpixel((4, 4)) == (255, 255, 255)


@pytest.mark.parametrize(
    ("mode", "form"),
    [("CMYK", "JPEG"), ("L", "JPEG"), ("P", "PNG"), ("LA", "PNG"), ("1", "PNG"), ("RGBA", "WEBP")],
)
def test_other_kinds_of_colour_are_shown_too(mode, form):
    photo = taken(encoded(shades(mode="L").convert(mode), form))

    with Image.open(copy_path(photo)) as shown:
        assert (shown.mode, shown.size) == ("RGB", (64, 48))
        rows = shown.convert("L").resize((1, 3), Image.Resampling.BOX)
    shades_down = [rows.getpixel((0, row)) for row in range(3)]
    assert shades_down == sorted(shades_down)
    assert shades_down[0] < 80 < 170 < shades_down[2]


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_the_most_pixels_allowed_fit_into_the_childs_memory(form):
    mode = "RGB" if form == "JPEG" else "RGBA"
    original = encoded(Image.new(mode, (6000, 4000)), form)

    photo = taken(original)

    assert (photo.width, photo.height) == (1600, 1067)


def test_one_row_more_is_refused():
    assert reason(encoded(Image.new("L", (6000, 4001)))) == photos.TOO_MANY_PIXELS


def test_a_progressive_jpeg_of_that_size_fits_too():
    assert taken(encoded(shades(6000, 4000, "RGB"), progressive=True)).width == 1600


def png_of(width, height):
    def chunk(name, content):
        check = zlib.crc32(name + content)
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", check)

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    squeezer = zlib.compressobj(9)
    squeezed = b"".join(squeezer.compress(bytes(width + 1)) for _ in range(height))
    squeezed += squeezer.flush()
    parts = chunk(b"IHDR", header) + chunk(b"IDAT", squeezed) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + parts


def test_a_bomb_is_refused_by_its_header():
    bomb = png_of(13_000, 13_000)

    assert len(bomb) < 250_000
    assert reason(bomb) == photos.TOO_MANY_PIXELS


def test_text_that_unfolds_inside_a_photo_is_refused():
    whole = encoded(shades(), "PNG")
    squeezed = zlib.compress(bytes(200_000_000), 9)
    text = b"Comment\0\0" + squeezed
    chunk = struct.pack(">I", len(text)) + b"zTXt" + text
    chunk += struct.pack(">I", zlib.crc32(b"zTXt" + text))
    unfolding = whole[:33] + chunk + whole[33:]

    assert reason(unfolding) == photos.NOT_A_PHOTO


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        b"<!doctype html><script>alert(1)</script>",
        b"%PDF-1.7\n%%EOF",
        b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n",
        b"\xff\xd8\xff" + bytes(2000),
        encoded(shades(), "GIF"),
        encoded(shades(), "BMP"),
        encoded(shades(), "TIFF"),
        encoded(shades(), "ICO"),
        encoded(shades(256, 256))[:-400],
        encoded(shades(256, 256), "PNG")[:-100],
        encoded(shades(256, 256), "WEBP")[:-20],
        encoded(shades(256, 256))[:30],
    ],
    ids=[
        "nothing",
        "svg",
        "html",
        "pdf",
        "postscript",
        "jpeg in name",
        "gif",
        "bmp",
        "tiff",
        "ico",
        "cut jpeg",
        "cut png",
        "cut webp",
        "jpeg header",
    ],
)
def test_what_is_no_whole_photo_is_refused(settings, content):
    assert reason(content) == photos.NOT_A_PHOTO
    assert files(settings) == []


def test_a_second_file_behind_the_photo_does_not_come_along():
    original = encoded(shades()) + b"PK\x03\x04<script>alert(1)</script>"

    photo = taken(original)

    assert b"<script>" not in copy_path(photo).read_bytes()


def test_twelve_megabytes_are_the_most(settings):
    whole = encoded(shades())
    just = whole + bytes(12_000_000 - len(whole))

    assert taken(just).width == 64
    assert reason(just + b"\0") == photos.TOO_LARGE


def in_child(code):
    """Run code in a process bound as the photo child is; return it when done."""
    bound = f"from shared.photo_child import limit; limit(); {code}"
    return subprocess.run([sys.executable, "-B", "-c", bound], capture_output=True)


def test_the_child_is_bound_in_memory_time_and_files(tmp_path):
    much = in_child("bytes(600 * 2**20)")
    file = in_child(f"open({str(tmp_path / 'file')!r}, 'wb', 0).write(b'x')")
    times = in_child("import resource; print(resource.getrlimit(resource.RLIMIT_CPU)[0])")

    assert b"MemoryError" in much.stderr
    assert b"File too large" in file.stderr
    assert int(times.stdout) == photo_child.CPU_S == 10


def test_the_child_binds_itself_before_it_reads():
    with subprocess.Popen(["head", "-c", "700M", "/dev/zero"], stdout=subprocess.PIPE) as much:
        command = [sys.executable, "-I", "-B", photo_child.__file__]
        child = subprocess.run(command, stdin=much.stdout, capture_output=True)

    assert (child.returncode, child.stdout) == (1, b"")
    assert b"MemoryError" in child.stderr


def test_a_child_that_does_not_end_is_given_up(monkeypatch):
    monkeypatch.setattr(photos, "LONGEST_WAIT_S", 0.001)

    assert reason(encoded(shades())) == photos.TOO_MUCH_WORK


def test_the_same_photo_again_leaves_one_file(settings):
    original = encoded(shades())

    assert taken(original).copy_sha256 == taken(original).copy_sha256
    assert len(files(settings)) == 2


def test_a_write_that_fails_leaves_no_file(settings, monkeypatch):
    def full(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)

    with pytest.raises(OSError, match="No space"):
        taken(encoded(shades()))

    assert files(settings) == []


@pytest.mark.django_db
def test_a_photo_sent_twice_is_one_fact_and_another_is_refused():
    said = {"site": SiteFactory(), "by": PersonFactory(), "shows": "other", "id": new_id()}
    original, other = encoded(shades()), encoded(shades(32))

    first = record(taken(original, **said), at=MORNING)
    again = record(taken(original, **said), at=MORNING + timedelta(minutes=1))

    assert (first.first, again.first) == (True, False)
    with pytest.raises(OtherBody):
        record(taken(other, **said), at=MORNING)


@pytest.mark.django_db
def test_find_same_finds_the_sites_own_photos_of_that_file():
    said = {"by": PersonFactory(), "shows": "other"}
    site = SiteFactory()
    original = encoded(shades())
    mine = record(taken(original, site=site, **said), at=MORNING).fact
    record(taken(original, site=SiteFactory(), **said), at=MORNING)
    record(taken(encoded(shades(32)), site=site, **said), at=MORNING)

    assert list(find_same(site, mine.original_sha256)) == [mine]


def gps_exif():
    exif = Image.Exif()
    exif[GPS] = {1: "N", 2: (28.0, 23.0, 7.0), 3: "W", 4: (81.0, 34.0, 9.0)}
    exif[MAKER] = "Findable Maker"
    return exif


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_the_position_in_a_photo_of_any_kind_is_gone_from_its_copy(form):
    original = encoded(shades(), form, exif=gps_exif())

    photo = taken(original)

    with Image.open(original_path(photo)) as kept:
        assert kept.getexif().get_ifd(GPS)[1] == "N"
    copy = copy_path(photo).read_bytes()
    with Image.open(io.BytesIO(copy)) as shown:
        assert (dict(shown.getexif()), shown.getexif().get_ifd(GPS)) == ({}, {})
        assert {"exif", "xmp", "icc_profile", "comment"} & set(shown.info) == set()
    assert b"Findable" not in copy


@pytest.mark.parametrize("form", ["PNG", "WEBP"])
def test_of_a_photo_that_moves_the_first_picture_is_kept(form):
    frames = [Image.new("RGB", (64, 48), colour) for colour in ("black", "white")]
    moving = encoded(frames[0], form, save_all=True, append_images=frames[1:], duration=100)

    photo = taken(moving)

    with Image.open(io.BytesIO(moving)) as sent:
        assert sent.n_frames == 2
    with Image.open(copy_path(photo)) as shown:
        assert (shown.format, getattr(shown, "n_frames", 1)) == ("JPEG", 1)
        assert shown.getpixel((32, 24))[0] < 16


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_more_pixels_are_refused_before_any_is_decoded(form, monkeypatch):
    large = encoded(Image.new("RGB", (6000, 4001)), form)

    def decoded(*_args, **_more):
        raise AssertionError("decoded")

    monkeypatch.setattr("PIL.ImageFile.ImageFile.load", decoded)
    monkeypatch.setattr("PIL.WebPImagePlugin.WebPImageFile.load", decoded)

    with pytest.raises(SystemExit) as left:
        photo_child.plain_copy(large)

    assert left.value.code == photo_child.TOO_MANY_PIXELS


def test_a_child_out_of_time_is_ended():
    bound = "import resource; resource.setrlimit(resource.RLIMIT_CPU, (1, 1))\nwhile True: pass"

    ended = in_child(f"exec({bound!r})")

    assert ended.returncode == -signal.SIGKILL or ended.returncode == -signal.SIGXCPU


def test_a_child_that_was_ended_is_told_as_too_much_work(monkeypatch):
    spinning = "while True: pass"
    monkeypatch.setattr(photo_child, "__file__", f"-c{spinning}")
    monkeypatch.setattr(photos, "LONGEST_WAIT_S", 1)

    assert reason(encoded(shades())) == photos.TOO_MUCH_WORK


@pytest.mark.django_db
def test_the_entry_of_a_photo_holds_the_fingerprint_of_what_came_in():
    said = {"site": SiteFactory(), "by": PersonFactory(), "shows": "other"}
    original = encoded(shades(), exif=gps_exif())

    fact = record(taken(original, **said), at=MORNING).fact

    body = json.loads(bytes(Entry.objects.get(fact_id=fact.pk).body))
    assert body["original_sha256"] == hashlib.sha256(original).hexdigest()
    assert body["copy_sha256"] != body["original_sha256"]
