"""Of the media goes what no row names and is a day old; all else stays, whoever comes between."""

import hashlib
import os
from pathlib import Path

import pytest
from django.conf import settings as django_settings
from django.core.management import CommandError, call_command
from django.db import connection

from deploy.keeping import contents, leftovers
from shared import durable, outside, papers, photos
from shared.models import JournalHead, Photo, Site
from shared.sealing import make_checkpoint
from tests.deploy.keeping.conftest import NOW

pytestmark = pytest.mark.django_db
DAY_S = 24 * 3600


def media():
    return Path(django_settings.MEDIA_ROOT)


def a_file(folder, content=b"left", age_s=DAY_S + 1):
    sha256 = hashlib.sha256(content).hexdigest()
    path = media() / folder / sha256[:2] / sha256
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    return aged(path, age_s)


def aged(path, age_s):
    then = NOW.timestamp() - age_s
    os.utime(path, (then, then))
    return path


def photo_files():
    photo = Photo.objects.get()
    return [photos.original_path(photo), photos.copy_path(photo)]


@pytest.mark.parametrize("folder", sorted(contents.FOLDERS))
def test_an_old_file_without_a_row_goes(shop, folder, capsys):
    left = a_file(folder)

    call_command("delete_leftovers")

    assert not left.exists()
    assert capsys.readouterr().out == "1 files, 4 bytes deleted.\n"


def test_a_file_with_a_row_stays_however_old(shop):
    files = [aged(path, 400 * DAY_S) for path in photo_files()]

    call_command("delete_leftovers")

    assert all(path.exists() for path in files)


def test_a_file_younger_than_a_day_stays(shop):
    young = a_file("photos/originals", age_s=DAY_S - 60)

    call_command("delete_leftovers")

    assert young.exists()


def test_a_dry_run_names_and_deletes_nothing(shop, capsys):
    left = a_file("sheets")

    call_command("delete_leftovers", dry_run=True)

    assert left.exists()
    assert capsys.readouterr().out == f"{left.relative_to(media())}\n"


@pytest.mark.parametrize("keep", [photos._keep, papers._keep])
def test_the_same_upload_makes_an_old_file_young(shop, keep):
    folder = "originals" if keep is photos._keep else "sheets"
    left = a_file("photos/originals" if keep is photos._keep else "sheets")
    before = left.stat().st_ino
    listed = leftovers.found(connection, media(), at=NOW)

    keep(folder, b"left")
    deleted = [leftovers.delete(path, at=NOW) for path in listed]

    assert (listed, deleted) == ([left], [0])
    assert left.stat().st_ino == before


def test_one_written_anew_while_it_was_aside_stays(shop):
    left = a_file("sheets")
    aside = left.with_name(leftovers.ASIDE + left.name)
    os.rename(left, aside)

    assert not durable.find_again(left)
    durable.replace(left, b"left")
    call_command("delete_leftovers")

    assert left.exists()
    assert not aside.exists()


def test_what_a_run_that_ended_midway_set_aside_is_put_back(shop):
    files = photo_files()
    for path in files:
        os.rename(path, path.with_name(leftovers.ASIDE + path.name))

    call_command("delete_leftovers")

    assert all(path.exists() for path in files)


def test_beside_an_older_database_nothing_goes(shop, django_capture_on_commit_callbacks):
    site, _manager = shop
    left = a_file("photos/originals")
    with django_capture_on_commit_callbacks(execute=True):
        make_checkpoint(site, at=NOW, cause="daily")
    JournalHead.objects.filter(pk=site.pk).update(size=1)

    with pytest.raises(CommandError, match=r"^Nothing was deleted. The database is older: "):
        call_command("delete_leftovers")

    assert left.exists()


def test_beside_another_database_nothing_goes(shop, django_capture_on_commit_callbacks):
    site, _manager = shop
    left = a_file("photos/originals")
    with django_capture_on_commit_callbacks(execute=True):
        make_checkpoint(site, at=NOW, cause="daily")
    other = outside.made_folder() / "00000000-0000-0000-0000-000000000000.txt"
    (outside.made_folder() / f"{site.pk}.txt").rename(other)

    with pytest.raises(CommandError, match=r"lacks a site that has a checkpoint"):
        call_command("delete_leftovers")

    assert left.exists()
    assert Site.objects.filter(pk=site.pk).exists()
