"""A bad backup is refused with its reason, and nothing is touched."""

import shutil
from collections import namedtuple
from dataclasses import replace

import pytest
from django.core.management import CommandError, call_command

from deploy.faults.damage import DAMAGES, again
from deploy.keeping import key, parcel, places, taking
from deploy.keeping.refused import Refused
from shared import clock
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


def test_a_list_of_a_later_release_is_refused(sound, elsewhere, tmp_path):
    path, _key = sound(is_sealed=False)
    bad = tmp_path / "bad"
    again(path, None, bad, say=lambda said: replace(said, format=2))

    assert "made by a later release: update the tool first" in refused(bad, elsewhere, tmp_path)


def test_a_name_that_leads_elsewhere_is_refused(sound, tmp_path):
    bad = tmp_path / "bad"
    with bad.open("wb") as file, parcel.writing(file, None, at=clock.now()) as out:
        out.add_bytes("media/../../secret", b"s" * 60)

    with pytest.raises(Refused, match="no backup of the tool"):
        parcel.read(bad, None, lambda name, size: tmp_path / name)


def test_a_missing_file_is_named(shop, tmp_path):
    said = refused(tmp_path / "none.tar", str(tmp_path / "there"), tmp_path)

    assert f"Cannot read {tmp_path / 'none.tar'}: No such file" in said
