"""A bad backup is refused with its reason, and nothing is touched."""

import shutil
import tarfile
from collections import namedtuple
from dataclasses import replace

import pytest
from django.core.management import CommandError, call_command

from deploy.faults.damage import DAMAGES, again
from deploy.keeping import key, manifest, opening, parcel, places, putting, taking
from deploy.keeping.refused import Refused
from shared.models import Entry
from tests.deploy.keeping.conftest import NOW

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.both]


@pytest.fixture
def sound(shop, settings, tmp_path):
    """Return the ways to a sound backup: plain, and sealed with its key."""
    key.make(tmp_path / "key")
    with_key = key.read(tmp_path / "key")

    def take(is_sealed):
        place, folder = places.here(), settings.BACKUPS
        one = with_key if is_sealed else None
        return taking.take(place, folder, one, at=NOW).file, one

    return take


def refused(path, into, tmp_path, with_key=None):
    """Restore; return the one line that refused it."""
    words = {}
    if with_key is not None:
        given = tmp_path / "given"
        given.unlink(missing_ok=True)
        given.write_text(key.base64.b64encode(with_key).decode())
        given.chmod(0o600)
        words = {"key": str(given)}
    with pytest.raises(CommandError) as told:
        call_command("restore", str(path), into=into, **words)
    assert "\n" not in str(told.value)
    return str(told.value)


def whats_there(folder):
    return [path for path in folder.rglob("*") if path.is_file()] if folder.exists() else []


@pytest.mark.parametrize("damage", DAMAGES, ids=lambda damage: damage.name)
def test_damage_is_refused_with_its_reason(damage, sound, elsewhere, settings, tmp_path):
    path, with_key = sound(damage.is_sealed)
    bad = tmp_path / "bad"
    given = damage.make(path, with_key, bad)
    before = whats_there(settings.MEDIA_ROOT)

    said = refused(bad, elsewhere, tmp_path, given)

    assert said.startswith("Nothing was restored. ")
    assert damage.reason in said
    assert whats_there(tmp_path / "there") == []
    assert whats_there(settings.MEDIA_ROOT) == before


def test_any_cut_and_any_flip_of_a_plain_one_is_found(sound, tmp_path):
    path, _key = sound(is_sealed=False)
    content, bad = path.read_bytes(), tmp_path / "bad"

    for part in range(1, 40):
        place = len(content) * part // 40
        bad.write_bytes(content[:place])
        with pytest.raises(Refused):
            parcel.read(bad, None, lambda name, size: None)
        flipped = bytearray(content)
        flipped[place] ^= 1 << part % 8
        bad.write_bytes(flipped)
        with pytest.raises(Refused):
            parcel.read(bad, None, lambda name, size: None)


def test_where_something_is_recorded_it_is_refused(sound, tmp_path):
    path, _key = sound(is_sealed=False)
    before = Entry.objects.count()

    said = refused(path, None, tmp_path)

    assert "give another place with --into, or --replace" in said
    assert Entry.objects.count() == before > 0


def test_a_disk_too_small_is_refused_before_anything_is_written(
    sound, elsewhere, tmp_path, monkeypatch
):
    path, _key = sound(is_sealed=False)
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(shutil, "disk_usage", lambda folder: usage(10, 9, 1))

    said = refused(path, elsewhere, tmp_path)

    assert "The disk is too small" in said


def test_a_disk_too_small_for_the_database_is_refused_before_a_photo_is_put(
    sound, tmp_path, monkeypatch
):
    if places.here().kind != places.SQLITE:
        pytest.skip("a file is SQLite's alone")
    path, _key = sound(is_sealed=False)
    usage, there = namedtuple("usage", "total used free"), tmp_path / "there"
    monkeypatch.setattr(
        shutil, "disk_usage", lambda folder: usage(9, 9, 1 if folder == there else 1 << 40)
    )

    said = refused(path, str(there), tmp_path)

    assert f"needed at {there} and 1 are free" in said
    assert whats_there(there) == []


def test_a_list_of_a_later_release_is_refused(sound, elsewhere, tmp_path):
    path, _key = sound(is_sealed=False)
    bad = tmp_path / "bad"
    again(path, None, bad, say=lambda said: replace(said, format=2))

    assert "made by a later release: update the tool first" in refused(bad, elsewhere, tmp_path)


@pytest.mark.parametrize(
    "name",
    [
        "media//{0}/planted",
        "media/../../planted",
        "media/./planted",
        "media/photos//planted",
        "media/.restoring-1/planted",
        "media",
        "{0}/planted",
        "../planted",
        "secrets/../planted",
        "secrets/keys/signing.key",
        "secrets/authorized_keys",
        "secrets//{0}/planted",
        "./media/planted",
        "media/\u00e9\0planted",
    ],
)
def test_a_name_that_leads_elsewhere_is_refused(name, tmp_path):
    bad, folder = tmp_path / "bad", tmp_path / "in" / "here"
    with bad.open("wb") as file, parcel.writing(file, None, at=NOW) as out:
        out.add_bytes(name.format(tmp_path), b"planted")

    with pytest.raises(Refused, match="no backup of the tool"):
        parcel.read(bad, None, lambda name, size: folder / name)

    assert {path.name for path in whats_there(tmp_path)} == {"bad", parcel.FIRST}


@pytest.mark.parametrize("door", ["into", "in place", "drill"])
def test_no_door_lets_a_name_out(door, sound, elsewhere, settings, tmp_path):
    path, _key = sound(is_sealed=False)
    bad, planted, before = tmp_path / "bad", tmp_path / "planted", Entry.objects.count()
    again(path, None, bad, more=f"media/{planted}")

    if door == "drill":
        with pytest.raises(CommandError) as told:
            call_command("drill", str(bad))
        said = str(told.value)
    else:
        said = refused(bad, elsewhere if door == "into" else None, tmp_path)

    assert "This is no backup of the tool" in said
    assert not planted.exists()
    assert Entry.objects.count() == before


@pytest.mark.parametrize(
    ("kind", "to"),
    [
        (tarfile.SYMTYPE, "/etc/passwd"),
        (tarfile.LNKTYPE, "backup.txt"),
        (tarfile.CHRTYPE, ""),
        (tarfile.FIFOTYPE, ""),
        (tarfile.DIRTYPE, ""),
        (tarfile.CONTTYPE, ""),
    ],
)
def test_what_is_no_plain_file_is_refused(kind, to, tmp_path):
    bad, about = tmp_path / "bad", tarfile.TarInfo("media/photos/one")
    about.type, about.linkname = kind, to
    with bad.open("wb") as file, parcel.writing(file, None, at=NOW) as out:
        out._tar.addfile(about)

    with pytest.raises(Refused, match="no backup of the tool"):
        parcel.read(bad, None, lambda name, size: tmp_path / "in" / name)


def test_a_file_with_holes_is_refused(tmp_path):
    """It would grow beyond what the disk was looked at for."""
    bad, about = tmp_path / "bad", tarfile.TarInfo("media/photos/one")
    about.pax_headers = {
        "GNU.sparse.major": "0",
        "GNU.sparse.minor": "1",
        "GNU.sparse.size": "9000000",
        "GNU.sparse.map": "0,0",
    }
    with bad.open("wb") as file, parcel.writing(file, None, at=NOW) as out:
        out._tar.addfile(about)

    with pytest.raises(Refused, match="no backup of the tool"):
        parcel.read(bad, None, lambda name, size: tmp_path / "in" / name)


def test_a_file_that_is_there_twice_is_refused(tmp_path):
    bad = tmp_path / "bad"
    with bad.open("wb") as file, parcel.writing(file, None, at=NOW) as out:
        out.add_bytes("media/one", b"first")
        out.add_bytes("media/one", b"second")

    with pytest.raises(Refused, match="no backup of the tool"):
        parcel.read(bad, None, lambda name, size: None)


def test_a_link_in_the_media_leads_no_file_out(sound, settings, tmp_path):
    path, _key = sound(is_sealed=False)
    there, away = tmp_path / "there", tmp_path / "away"
    away.mkdir()
    (there / "media").mkdir(parents=True)
    (there / "media" / "photos").symlink_to(away)

    place = replace(places.here(), media=there / "media")
    with opening.opened(path, None, place) as found, pytest.raises(Refused, match="leads out of"):
        putting.put(found, place)

    assert whats_there(away) == []
    assert Entry.objects.exists()


def test_a_list_too_long_is_not_read(sound, elsewhere, tmp_path, monkeypatch):
    path, _key = sound(is_sealed=False)
    monkeypatch.setattr(manifest, "MOST_BYTES", 100)
    monkeypatch.setattr(manifest, "FILE_BYTES", 1)

    assert "list in the backup cannot be read" in refused(path, elsewhere, tmp_path)


def test_a_list_of_lists_without_end_is_refused():
    with pytest.raises(Refused, match="list in the backup cannot be read"):
        manifest.read(b"[" * 200_000)


def test_a_missing_file_is_named(shop, tmp_path):
    said = refused(tmp_path / "none.tar", str(tmp_path / "there"), tmp_path)

    assert f"Cannot read {tmp_path / 'none.tar'}: No such file" in said
