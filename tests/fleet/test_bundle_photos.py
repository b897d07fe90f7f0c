"""Photos in a bundle: the recorded copy, each once; what is lacking or another file is named."""

import hashlib
import io
from datetime import date

import pytest
from PIL import Image

from shared import photos
from shared.facts import record, strike
from shared.models import Photo
from tests.fleet.bundling import Fleet, bundled, on
from tests.fleet.zips import taken_apart

pytestmark = pytest.mark.django_db

NOW = on(3, 20)


@pytest.fixture
def fleet(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    return Fleet("harbour")


def a_photo(fleet, colour, cart=None, at=NOW):
    file = io.BytesIO()
    Image.new("RGB", (40, 30), colour).save(file, "JPEG")
    file.seek(0)
    about = {"site": fleet.site, "by": fleet.mechanic, "shows": Photo.Shows.OTHER}
    photo = photos.take(file, cart_id=cart and cart.pk, **about)
    return record(photo, at=at).fact


def names(*shown):
    return [f"photos/{sha256}.jpg" for sha256 in sorted(photo.copy_sha256 for photo in shown)]


def in_bundle(read):
    return [name for name in read.members if name.startswith("photos/")]


def test_each_photo_is_there_once_and_stored(fleet, tmp_path):
    cart = fleet.cart("7")
    shown = [a_photo(fleet, colour, cart) for colour in ("red", "green", "navy")]
    a_photo(fleet, "red", cart)

    read = bundled(fleet.site, tmp_path, NOW)

    assert in_bundle(read) == names(*shown)
    for name in in_bundle(read):
        assert f"photos/{hashlib.sha256(read.members[name]).hexdigest()}.jpg" == name
    entries, _end = taken_apart((tmp_path / "bundle.zip").read_bytes())
    methods = {local["method"] for local, _c, _d in entries if local["name"].endswith(".jpg")}
    assert methods == {0}


def test_struck_photo_stays_with_its_entry(fleet, tmp_path):
    photo = a_photo(fleet, "red", fleet.cart("7"))
    strike(photo, reason="Blurred", by=fleet.manager, at=NOW)

    assert in_bundle(bundled(fleet.site, tmp_path, NOW)) == names(photo)


def test_photos_out_of_scope_stay_out(fleet, tmp_path):
    plain, lifted = fleet.cart("9"), fleet.lifted("7", on(3, 2))
    a_photo(fleet, "green", lifted, at=on(3, 3))
    told = a_photo(fleet, "navy", lifted, at=on(3, 5))
    a_photo(fleet, "red", plain, at=on(3, 6))

    read = bundled(fleet.site, tmp_path, NOW, lifted_only=True, from_day=date(2026, 3, 4))

    assert in_bundle(read) == names(told)


def test_photo_of_another_site_stays_out(fleet, tmp_path):
    osprey = Fleet("osprey")
    a_photo(osprey, "red", osprey.cart("30"))

    assert in_bundle(bundled(fleet.site, tmp_path, NOW)) == []


def test_photo_whose_file_is_another_one_is_named_and_left_out(fleet, tmp_path):
    cart = fleet.cart("7")
    kept, spoilt, gone = (a_photo(fleet, colour, cart) for colour in ("red", "green", "navy"))
    whole = bundled(fleet.site, tmp_path, NOW)
    photos.copy_path(spoilt).write_bytes(b"another")
    photos.copy_path(gone).unlink()

    read = bundled(fleet.site, tmp_path, NOW)

    assert in_bundle(read) == [*names(kept), "photos/missing.txt"]
    faults = {spoilt.copy_sha256: "does not match", gone.copy_sha256: "lacking"}
    lines = "".join(f"{sha256} {faults[sha256]}\n" for sha256 in sorted(faults))
    assert read.members["photos/missing.txt"].decode() == lines
    assert read.manifest["content"] != whole.manifest["content"]
