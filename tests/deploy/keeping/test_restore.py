"""What was backed up is there again; what an older database lacks is found out and named."""

import errno
import fcntl
import sqlite3
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import load_pem_private_key
from django.core.management import CommandError, call_command
from django.db import connection

from deploy.keeping import contents, key, parcel, places, putting, taking
from deploy.keeping.places import SQLITE, connected
from deploy.keeping.refused import Refused
from shared import checkpoint, durable, keys
from shared.models import Checkpoint, JournalHead
from shared.sealing import make_checkpoint
from tests.deploy.keeping.conftest import NOW, a_database, photo

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


@pytest.fixture
def there(backup, tmp_path):
    """Return a folder on a new machine, where the first command made a secret, the start a key."""
    if places.here().kind != SQLITE:
        pytest.skip("a folder is SQLite's alone")
    place = places.in_folder(tmp_path / "there")
    place.file.parent.mkdir()
    place.secret.write_text("n" * 60)
    place.secret.chmod(0o600)
    return place, {"secret": "n" * 60, "signing.key": new_key(place.keys)}


@pytest.fixture
def unmigrated(monkeypatch):
    """Leave out what a backup of this very release has no need of, and what takes long."""
    monkeypatch.setattr(putting, "migrate", lambda place: None)


def new_key(folder):
    private = Ed25519PrivateKey.generate()
    folder.mkdir(mode=0o700, exist_ok=True)
    durable.replace(folder / "signing.key", keys._pem(private))
    return (folder / "signing.key").read_text()


def secrets_of(place):
    return {name: place.secret_file(name).read_text() for name in ("secret", "signing.key")}


KEPT = {"secret": "s" * 60, "signing.key": "a private key"}


def test_what_the_first_command_leaves_there_gives_way(backup, tmp_path):
    if places.here().kind != SQLITE:
        pytest.skip("a folder is SQLite's alone")
    place = places.in_folder(tmp_path / "there")
    place.file.parent.mkdir()
    putting.migrate(place)
    made = place.secret.read_text()

    put_back(backup, str(tmp_path / "there"))

    (aside,) = place.secret.parent.glob("secret.until-*")
    assert aside.read_text() == made
    assert secrets_of(place) == KEPT


@pytest.mark.parametrize("replace", [False, True])
def test_secrets_of_a_new_machine_give_way_and_are_kept(
    backup, there, unmigrated, replace, tmp_path, capsys
):
    place, made = there
    if replace:
        put_back(backup, str(tmp_path / "there"))
        for name, content in made.items():
            durable.replace(place.secret_file(name), content.encode())

    put_back(backup, str(tmp_path / "there"), replace=replace)

    told = capsys.readouterr().out
    assert secrets_of(place) == KEPT
    for name, content in made.items():
        path = place.secret_file(name)
        aside = path.with_name(f"{name}.until-20260305T130000Z")
        assert (aside.read_text(), aside.stat().st_mode & 0o777) == (content, 0o600)
        assert path.stat().st_mode & 0o777 == 0o600
        assert f"What was in {path} is kept in {aside}." in told


def test_a_key_that_signed_what_is_kept_outside_stays(
    shop, backup, there, unmigrated, tmp_path, capsys
):
    """The journal will ask for it once the restore is recorded: see shared/sealing.py."""
    site, _manager = shop
    place, made = there
    private = load_pem_private_key(made["signing.key"].encode(), password=None)
    signed = checkpoint.sign(private, site=site.pk, epoch=1, size=1, root=bytes(32), at=NOW)
    place.checkpoints.mkdir()
    (place.checkpoints / f"{site.pk}.txt").write_text(signed.text)
    (place.checkpoints / "spoilt.txt").write_text("no checkpoint")

    put_back(backup, str(tmp_path / "there"), replace=True)

    assert secrets_of(place) == KEPT | {"signing.key": made["signing.key"]}
    assert f"{place.keys / 'signing.key'} is another than in the backup" in capsys.readouterr().out


def test_secrets_that_another_database_uses_stay(shop, backup, unmigrated, settings, capsys):
    """A database that is named alone has the keys of the tool's own."""
    if places.here().kind == SQLITE:
        pytest.skip("only one of PostgreSQL is named alone")
    (settings.VAR / "secret").write_text("n" * 60)
    made = new_key(settings.KEYS)

    with a_database() as address:
        place = put_back(backup, address)

    assert secrets_of(place) == {"secret": "n" * 60, "signing.key": made}
    assert f"{settings.KEYS / 'signing.key'} is another than in the" in capsys.readouterr().out


def test_what_migrate_fails_at_is_told_apart_from_nothing_restored(backup, elsewhere, monkeypatch):
    def fail(place, *words):
        raise Refused("manage.py migrate failed: a table was in use for 3 s")

    monkeypatch.setattr(putting, "command", fail)
    with pytest.raises(CommandError) as told:
        put_back(backup, elsewhere)

    assert str(told.value) == (
        "Restored, but not brought up to date: run manage.py migrate. "
        "manage.py migrate failed: a table was in use for 3 s"
    )
    with connected(places.told(elsewhere).database) as found:
        assert contents.tables_of(found)["shared_photo"] == 1


def test_secrets_that_fail_are_told_apart_from_nothing_restored(backup, elsewhere, monkeypatch):
    (places.told(elsewhere).keys / "signing.key").unlink(missing_ok=True)

    def full(*about):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(durable, "make", full)
    with pytest.raises(CommandError) as told:
        put_back(backup, elsewhere)

    assert str(told.value).startswith("Restored, but without its keys: restore once more with")


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


def in_use(place):
    """Write to a database and leave that open."""
    other = sqlite3.connect(place.file, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    return closing(other)


@contextmanager
def backing_up(folder):
    with (folder / ".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


@pytest.mark.parametrize("why", ["locked", "another backup"])
def test_a_sound_database_is_never_set_aside(
    backup, there, unmigrated, settings, why, tmp_path, monkeypatch
):
    place, _made = there
    put_back(backup, str(tmp_path / "there"))
    before = place.file.read_bytes()
    at_once = place.database | {"OPTIONS": place.database["OPTIONS"] | {"timeout": 0.1}}
    monkeypatch.setattr(places, "database", lambda *about: at_once)
    held = in_use(place) if why == "locked" else backing_up(settings.BACKUPS)

    with held, pytest.raises(CommandError) as told:
        put_back(backup, str(tmp_path / "there"), replace=True)

    said = str(told.value)
    assert said.startswith("Nothing was restored. ")
    assert ("is locked" if why == "locked" else "Another backup is being taken") in said
    assert place.file.read_bytes() == before
    assert not list(place.file.parent.glob("fleet.sqlite3.until-*"))


def test_what_lies_beside_the_old_file_is_taken_away(tmp_path):
    place = places.in_folder(tmp_path)
    for ending in ("", *putting.LEFT_BESIDE):
        Path(f"{place.file}{ending}").write_text("old")
    (tmp_path / "staged").write_text("new")

    putting._put_sqlite(tmp_path / "staged", place.file)

    assert sorted(path.name for path in tmp_path.iterdir()) == ["fleet.sqlite3", "staged"]
    assert place.file.read_text() == "new"
