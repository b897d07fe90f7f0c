"""A backup is one file that was read back; what it holds is what the database held."""

import hashlib
import tarfile
import threading

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import connection, connections

from deploy.keeping import contents, parcel, snapshots, taking
from shared import clock, photos
from shared.models import Entry, JournalHead, LastDone, Photo
from shared.sealing import tree_of
from tests.deploy.keeping.conftest import NOW, photo

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.both]


def backup(**options):
    call_command("backup", **options)


def only_file(settings):
    (path,) = taking.all_in(settings.BACKUPS)
    return path


def read(path, key=None):
    return parcel.read(path, key, lambda name, size: None)


def test_it_says_what_it_holds(shop, settings, capsys):
    site, _manager = shop
    one = Photo.objects.get()

    backup()

    path = only_file(settings)
    found = read(path)
    assert (path.name, path.stat().st_mode & 0o777) == ("carts-20260305T130000Z.tar", 0o600)
    assert settings.BACKUPS.stat().st_mode & 0o777 == 0o700
    assert f"{path}: {path.stat().st_size:,} bytes, read back whole; not sealed" in (
        capsys.readouterr().out
    )
    said = found.manifest
    head = JournalHead.objects.get(pk=site.pk)
    (journal,) = said.journals
    assert (journal.site, journal.slug, journal.epoch) == (str(site.pk), site.slug, 1)
    assert (journal.size, journal.root) == (head.size, tree_of(site.pk, head.size).root().hex())
    assert said.tables["shared_entry"] == Entry.objects.count()
    assert set(said.tables) == set(connection.introspection.table_names())
    copy = photos.copy_path(one)
    about = next(
        file for file in said.files if file.path.endswith(f"copies/{copy.parent.name}/{copy.name}")
    )
    assert (about.bytes, about.sha256) == (copy.stat().st_size, one.copy_sha256)
    assert said.lost == []


def test_it_is_noted(shop, settings):
    backup()

    path = only_file(settings)
    note = LastDone.objects.get(what=LastDone.What.BACKUP)
    assert (note.at, note.said) == (
        NOW,
        {
            "file": str(path),
            "bytes": path.stat().st_size,
            "sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
            "encrypted": False,
            "lost": 0,
        },
    )


def test_a_plain_one_opens_with_tar_and_holds_no_secret(shop, settings):
    settings.KEYS.mkdir(mode=0o700)
    (settings.KEYS / "signing.key").write_text("private")
    backup()

    with tarfile.open(only_file(settings)) as tar:
        names = tar.getnames()

    assert (names[0], names[1], names[-1]) == ("backup.txt", "database", "manifest.json")
    assert not [name for name in names if name.startswith("secrets/")]


def test_a_sealed_one_holds_the_keys_and_shows_nothing(shop, settings, tmp_path):
    site, _manager = shop
    settings.KEYS.mkdir(mode=0o700)
    (settings.KEYS / "signing.key").write_text("a private key")
    backup(make_key=str(tmp_path / "key"))
    settings.BACKUP_KEY = tmp_path / "key"

    backup()

    path = only_file(settings)
    assert path.name == "carts-20260305T130000Z.sealed"
    content = path.read_bytes()
    assert not [
        word for word in (b"a private key", b"ssssss", site.slug.encode()) if word in content
    ]
    with pytest.raises(parcel.Refused, match="give its key"):
        read(path)


def test_a_file_that_is_gone_is_told_and_the_rest_is_kept(shop, settings, capsys):
    lost = photos.original_path(Photo.objects.get())
    lost.unlink()

    backup()

    name = f"photos/originals/{lost.parent.name}/{lost.name}"
    assert read(only_file(settings)).manifest.lost == [name]
    assert f"not on the disk, so not in it: {name}" in capsys.readouterr().out


def test_a_file_committed_after_the_snapshot_is_in_it_all_the_same(shop, settings, monkeypatch):
    """The database goes first: a photo taken while it is copied lacks its row, never its file."""
    site, manager = shop
    copied = snapshots.copied

    def copied_then_written(*about):
        class Then:
            def __enter__(self):
                self.within = copied(*about)
                found = self.within.__enter__()
                photo(site, manager, shade=200)
                return found

            def __exit__(self, *raised):
                return self.within.__exit__(*raised)

        return Then()

    monkeypatch.setattr(snapshots, "copied", copied_then_written)
    backup()

    said = read(only_file(settings)).manifest
    assert said.tables["shared_photo"] == 1
    assert len([file for file in said.files if "/originals/" in file.path]) == 2
    assert said.lost == []


def test_only_the_newest_are_kept_when_asked(shop, settings, monkeypatch, capsys):
    (settings.BACKUPS).mkdir()
    others = settings.BACKUPS / "before-restore-20260101T000000Z.tar"
    others.write_text("not a daily one")
    for minute in range(3):
        monkeypatch.setattr(clock, "now", lambda minute=minute: NOW.replace(minute=minute))
        backup(keep=2)

    assert [path.name for path in taking.all_in(settings.BACKUPS)] == [
        "carts-20260305T130200Z.tar",
        "carts-20260305T130100Z.tar",
    ]
    assert "deleted carts-20260305T130000Z.tar" in capsys.readouterr().out
    assert others.exists()


def test_one_that_reads_back_otherwise_gets_no_name(shop, settings, monkeypatch):
    whole = parcel.read

    def spoilt(path, *about):
        content = bytearray(path.read_bytes())
        content[len(content) // 2] ^= 1
        path.write_bytes(content)
        return whole(path, *about)

    monkeypatch.setattr(parcel, "read", spoilt)
    with pytest.raises(CommandError, match=r"No backup was taken\. The file was changed"):
        backup()

    assert [path.name for path in settings.BACKUPS.iterdir()] == [".lock"]
    note = LastDone.objects.get(what=LastDone.What.BACKUP_FAILED)
    assert note.said["fault"].startswith("The file was changed")
    assert not LastDone.objects.filter(what=LastDone.What.BACKUP).exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"to": "/dev/null"}, r"/dev/null can be no folder \(File exists\): give another"),
        ({"key": "/nowhere/key"}, "Cannot read the key /nowhere/key"),
    ],
)
def test_words_that_are_wrong_are_no_backup_that_failed(shop, words, said):
    with pytest.raises(CommandError, match=said):
        backup(**words)

    assert not LastDone.objects.exists()


@pytest.mark.parametrize("set_wrong", ["BACKUPS", "BACKUP_KEY"])
def test_with_settings_that_are_wrong_a_backup_has_failed(shop, settings, tmp_path, set_wrong):
    (tmp_path / "file").write_text("")
    setattr(settings, set_wrong, tmp_path / "file" / "within")

    with pytest.raises(CommandError, match="No backup was taken"):
        backup()

    assert LastDone.objects.get().what == LastDone.What.BACKUP_FAILED


def test_what_a_killed_one_left_is_taken_away(shop, settings):
    left = settings.BACKUPS / ".part-killed"
    left.mkdir(parents=True)
    (left / "database").write_text("half")

    backup()

    assert sorted(path.name for path in settings.BACKUPS.iterdir()) == [
        ".lock",
        "carts-20260305T130000Z.tar",
    ]


def test_of_two_at_once_one_is_refused(shop, settings, monkeypatch):
    entered, go_on = threading.Event(), threading.Event()
    write = taking._write

    def slow(*about):
        entered.set()
        assert go_on.wait(30)
        write(*about)

    def backup_and_close():
        backup()
        connections.close_all()

    monkeypatch.setattr(taking, "_write", slow)
    first = threading.Thread(target=backup_and_close)
    first.start()
    assert entered.wait(30)
    try:
        with pytest.raises(CommandError, match="Another backup is being taken"):
            backup()
    finally:
        go_on.set()
        first.join()
    assert len(taking.all_in(settings.BACKUPS)) == 1


def test_a_key_that_is_set_and_gone_stops_it(shop, settings, tmp_path):
    settings.BACKUP_KEY = tmp_path / "gone"

    with pytest.raises(CommandError, match="Cannot read the key"):
        backup()

    assert taking.all_in(settings.BACKUPS) == []


def test_each_field_that_names_a_file_by_its_sum_is_known():
    filed = (*contents.FILED_BY_SUM, *contents.FILED_BY_NAME)
    named = {(model, field) for model, field, _folder in filed}

    fields = {
        (model, field.name)
        for model in apps.get_models()
        for field in model._meta.get_fields()
        if field.name.endswith("sha256") or field.name == "file"
    }
    # a hash of a link, and sums beside the name of the file
    others = {name for name in fields if name[1] in ("token_sha256", "sha256")}
    assert named == fields - others
