"""The ZIP of a bundle has exactly the headers of its form, and Python's own reader takes it."""

import hashlib
import io
import zipfile
import zlib

import pytest

from fleet.bundle import zipping
from fleet.bundle.zipping import ZipWriter
from tests.fleet.zips import FIELDS, taken_apart

FILES = {
    "README.txt": b"words\r\n" * 400,
    "report/report.pdf": b"%PDF-" + bytes(range(256)),
    "tables/empty.csv": b"",
    "photos/a.jpg": b"\xff\xd8\xff" * 99,
    "manifest.json": b"{}",
}


@pytest.fixture
def whole(tmp_path):
    return written(tmp_path / "whole.zip", FILES).read_bytes()


def written(path, files):
    with ZipWriter(path) as archive:
        for name, data in files.items():
            archive.add_bytes(name, data)
        archive.finish()
    return path


def test_headers_are_those_of_the_form(whole):
    entries, end = taken_apart(whole)

    assert [(local["name"], content) for local, _central, content in entries] == list(FILES.items())
    for local, central, content in entries:
        assert (local["needed"], local["flags"], local["extra"]) == (20, 0, 0)
        assert (local["time"], local["date"]) == (0, 33)
        stored = local["name"].endswith((".jpg", ".pdf", "manifest.json", "manifest.signature"))
        assert local["method"] == (0 if stored else 8)
        assert (local["crc"], local["size"]) == (zlib.crc32(content), len(content))
        assert [local[name] for name in FIELDS] == [central[name] for name in FIELDS]
        assert local["name"] == central["name"]
        assert (central["made"], central["external"]) == (3 << 8 | 20, 0o600 << 16)
        others = [central[name] for name in ("extra", "comment", "disk", "internal")]
        assert others == [0, 0, 0, 0]
    assert end[1:5] == (0, 0, len(FILES), len(FILES)) and end[7] == 0


def test_python_reads_it(whole):
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        assert archive.testzip() is None
        assert {info.filename: archive.read(info) for info in archive.infolist()} == FILES


def test_what_was_packed_is_told(tmp_path):
    with ZipWriter(tmp_path / "one.zip") as archive:
        packed = archive.add("tables/a.csv", 6, [b"abc", b"def"])

    assert (packed.size, packed.crc) == (6, zlib.crc32(b"abcdef"))
    assert packed.sha256 == hashlib.sha256(b"abcdef").hexdigest()
    lies = (tmp_path / "one.zip").read_bytes()[-packed.packed_size :]
    assert zlib.decompress(lies, -zlib.MAX_WBITS) == b"abcdef"
    assert packed.packed_sha256 == hashlib.sha256(lies).hexdigest()


def test_same_files_give_the_same_bytes(tmp_path, whole):
    assert written(tmp_path / "again.zip", FILES).read_bytes() == whole


def test_file_that_grew_meanwhile_is_refused(tmp_path):
    with ZipWriter(tmp_path / "one.zip") as archive, pytest.raises(ValueError, match="not the 5"):
        archive.add("a.csv", 5, [b"abc", b"def"])


def test_zip_that_is_there_is_not_written_over(tmp_path, whole):
    with pytest.raises(FileExistsError):
        ZipWriter(tmp_path / "whole.zip")


def test_large_files_and_far_ones_take_zip64(tmp_path, monkeypatch):
    """As if 32 bits held no more than a hundred: Python's reader takes ZIP64 at any size."""
    monkeypatch.setattr(zipping, "FULL_32", 100)
    sizes = {"small.csv": b"a" * 99, "large.csv": b"b" * 100, "far.csv": b"c"}
    path = written(tmp_path / "wide.zip", sizes)
    # the reader takes 2^32-1 alone as "see the extra field"
    data = path.read_bytes().replace((100).to_bytes(4, "little"), b"\xff" * 4)
    path.write_bytes(data)

    with zipfile.ZipFile(path) as archive:
        found = {info.filename: archive.read(info) for info in archive.infolist()}
        needed = [info.extract_version for info in archive.infolist()]

    assert found == sizes
    assert needed == [20, 45, 45]
