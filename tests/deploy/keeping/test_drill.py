"""A drill says that a backup can be put back only when it was, and nothing differs."""

from dataclasses import replace

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from deploy.faults.damage import again
from deploy.keeping import key, places, taking
from shared import outside, triggers
from shared.models import Checkpoint, Entry, JournalHead, LastDone
from shared.sealing import make_checkpoint
from tests.deploy.keeping.conftest import NOW
from tests.lift_factories import a_cart

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.both]


def take(settings):
    return taking.take(places.here(), settings.BACKUPS, None, at=NOW).file


def not_proved(*words):
    with pytest.raises(CommandError) as told:
        call_command("drill", *words)
    said = str(told.value).removeprefix("Not proved. ")
    note = LastDone.objects.get(what=LastDone.What.RESTORE_NOT_PROVED)
    assert note.said["fault"] == said
    assert not LastDone.objects.filter(what=LastDone.What.RESTORE_PROVED).exists()
    return said


def test_the_newest_is_proved_and_noted(shop, settings):
    site, _manager = shop
    make_checkpoint(site, at=NOW, cause=Checkpoint.Cause.DAILY)
    path = take(settings)

    call_command("drill")

    note, size = LastDone.objects.get(), JournalHead.objects.get(pk=site.pk).size
    assert (note.what, note.at, note.said["file"]) == ("restore proved", NOW, str(path))
    assert (note.said["entries"], note.said["signed"], note.said["files"]) == (size, size, 4)


def test_without_a_backup_nothing_is_proved(shop):
    assert not_proved().startswith("There is no backup in ")


def a_key(path):
    key.make(path)
    return key.read(path)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "The backup is sealed: give its key"),
        (["--key", "{}/none"], "Cannot read the key"),
        (["--key", "{}/other"], "The backup is sealed with another key"),
        (["{}/none.sealed"], "is no file: name a backup"),
    ],
)
def test_words_that_are_wrong_are_no_drill_that_failed(shop, settings, tmp_path, words, said):
    taking.take(places.here(), settings.BACKUPS, a_key(tmp_path / "key"), at=NOW)
    a_key(tmp_path / "other")

    with pytest.raises(CommandError, match=said):
        call_command("drill", *(word.format(tmp_path) for word in words))

    assert not LastDone.objects.exists()


def test_with_another_key_set_a_drill_has_failed(shop, settings, tmp_path):
    taking.take(places.here(), settings.BACKUPS, a_key(tmp_path / "key"), at=NOW)
    a_key(tmp_path / "other")
    settings.BACKUP_KEY = tmp_path / "other"

    assert not_proved().startswith("The backup is sealed with another key")


def test_a_rewritten_entry_is_found(shop, settings):
    """Of a database that was rewritten before it was backed up, leaf and all."""
    site, _manager = shop
    make_checkpoint(site, at=NOW, cause=Checkpoint.Cause.DAILY)
    triggers.lift(connection)
    Entry.objects.filter(site=site, seq=2).update(body=b"{}")
    triggers.lay(connection)
    take(settings)

    said = not_proved()

    assert said == f"Entry 2 of site {site.slug} is not the one signed."


def test_a_rewritten_row_is_found(shop, settings):
    triggers.lift(connection)
    connection.cursor().execute("UPDATE shared_photo SET width = 9")
    triggers.lay(connection)
    take(settings)

    assert "The history is not as recorded at" in not_proved()


def test_another_root_than_listed_is_found(shop, settings, tmp_path):
    path, other = take(settings), tmp_path / "other"

    def change(said):
        return replace(said, journals=[replace(said.journals[0], root="0" * 64)])

    again(path, None, other, say=change)

    assert "journal" in not_proved(str(other))


def test_entries_after_the_last_checkpoint_are_told_apart(shop, settings):
    site, manager = shop
    make_checkpoint(site, at=NOW, cause=Checkpoint.Cause.DAILY)
    kept = outside.newest(site.pk).size
    a_cart(site, manager, number="8")
    take(settings)

    call_command("drill")

    said = LastDone.objects.get().said
    assert said["signed"] == kept < said["entries"]
