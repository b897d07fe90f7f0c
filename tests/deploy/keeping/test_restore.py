"""What was backed up is there again; what an older database lacks is found out and named."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection

from deploy.keeping import contents, key, parcel, places, putting, taking
from deploy.keeping.places import SQLITE, connected
from shared.models import Checkpoint, JournalHead
from shared.sealing import make_checkpoint
from tests.deploy.keeping.conftest import NOW, photo

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.both]


@pytest.fixture
def backup(shop, settings, tmp_path):
    """Return a sealed backup of the shop, whose key is set."""
    settings.KEYS.mkdir(mode=0o700)
    (settings.KEYS / "signing.key").write_text("a private key")
    key.make(tmp_path / "key")
    settings.BACKUP_KEY = tmp_path / "key"
    return taking.take(places.here(), settings.BACKUPS, key.read(settings.BACKUP_KEY), at=NOW)


def put_back(backup, into, **options):
    call_command("restore", str(backup.file), into=into, **options)
    return places.told(into)


def test_all_is_there_again(backup, elsewhere, settings, capsys):
    place = put_back(backup, elsewhere)

    said = backup.read.manifest
    with connected(place.database) as found:
        rows, journals = contents.tables_of(found), contents.journals_of(found)
        named = contents.named_files(found)
        triggers = trigger_names(found)
    assert {table: rows[table] for table in said.tables} == said.tables
    assert journals == said.journals
    assert {name for name in named if not (place.media / name).is_file()} == set()
    assert triggers == trigger_names(connection)
    assert f"Restored to {place} as of {said.at}" in capsys.readouterr().out
    assert [path.name for path in place.media.iterdir()] == ["photos"]
    assert (place.keys / "signing.key").read_text() == "a private key"


def trigger_names(found):
    ask = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    if found.vendor == "postgresql":
        ask = "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
    with found.cursor() as cursor:
        cursor.execute(ask)
        return sorted(name for (name,) in cursor.fetchall())


def test_a_key_that_is_there_stays_and_is_told(backup, elsewhere, capsys):
    keys = places.told(elsewhere).keys
    keys.mkdir(mode=0o700, parents=True, exist_ok=True)
    (keys / "signing.key").write_text("a newer one")

    put_back(backup, elsewhere)

    assert (keys / "signing.key").read_text() == "a newer one"
    assert f"{keys / 'signing.key'} is another than in the backup" in capsys.readouterr().out


def test_what_is_missing_of_what_was_signed_is_told(shop, backup, elsewhere, settings, capsys):
    site, manager = shop
    (settings.KEYS / "signing.key").unlink()
    size = JournalHead.objects.get(pk=site.pk).size
    photo(site, manager, shade=9)
    make_checkpoint(site, at=NOW, cause=Checkpoint.Cause.DAILY)

    put_back(backup, elsewhere)

    assert (
        f"{site.slug} ends at entry {size} of epoch 1, and entry {size + 1} of epoch 1 was signed: "
        f"manage.py record_restore --site {site.slug}"
    ) in capsys.readouterr().out


def test_in_place_of_another_it_takes_a_backup_of_that_first(
    shop, backup, elsewhere, settings, capsys
):
    put_back(backup, elsewhere)
    place = places.told(elsewhere)
    photo(*shop, shade=9)
    newer = taking.take(places.here(), settings.BACKUPS, None, at=NOW)

    put_back(newer, elsewhere, replace=True)

    (kept,) = settings.BACKUPS.glob("before-restore-*.sealed")
    assert f"What was there is kept in {kept}" in capsys.readouterr().out
    before = parcel.read(kept, key.read(settings.BACKUP_KEY), lambda name, size: None).manifest
    assert before.tables["shared_photo"] == 1
    with connected(place.database) as found:
        assert contents.tables_of(found)["shared_photo"] == 2
    assert kept not in taking.all_in(settings.BACKUPS)


def test_what_cannot_be_read_is_set_aside(backup, tmp_path, capsys):
    if places.here().kind != SQLITE:
        pytest.skip("a file is SQLite's alone")
    place = places.in_folder(tmp_path / "there")
    place.file.parent.mkdir()
    place.file.write_bytes(b"no database" * 100)
    wal = Path(f"{place.file}-wal")
    wal.write_text("of the other database")

    put_back(backup, str(tmp_path / "there"), replace=True)

    aside = place.file.with_name("fleet.sqlite3.until-20260305T130000Z")
    assert aside.read_bytes() == b"no database" * 100
    assert f"see {aside}" in capsys.readouterr().out
    assert not wal.exists()
    with closing(sqlite3.connect(place.file)) as found:
        assert found.execute("SELECT count(*) FROM shared_photo").fetchone() == (1,)


def test_what_lies_beside_the_old_file_is_taken_away(tmp_path):
    place = places.in_folder(tmp_path)
    for ending in ("", *putting.LEFT_BESIDE):
        Path(f"{place.file}{ending}").write_text("old")
    (tmp_path / "staged").write_text("new")

    putting._put_sqlite(tmp_path / "staged", place.file)

    assert sorted(path.name for path in tmp_path.iterdir()) == ["fleet.sqlite3", "staged"]
    assert place.file.read_text() == "new"
