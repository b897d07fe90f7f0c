"""An older database put back: nothing is recorded until what is missing is named."""

from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from fleet.models import Note
from shared import checkpoint, clock, facts, outside, triggers, verifying
from shared.facts import record
from shared.models import Checkpoint, Entry, JournalHead, Restore, Role
from shared.outside import BehindOutside
from shared.seal_check import check_seal
from shared.sealing import NothingMissing, Rewritten, make_checkpoint, record_restore, statement_of
from tests.factories import MORNING, MembershipFactory
from tests.taking_back import take_back
from tests.yard import LATER, seqs

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.both]

DAILY = Checkpoint.Cause.DAILY
NEXT_DAY = LATER + timedelta(days=1)


@pytest.fixture
def site(yard):
    return yard.cart.site


@pytest.fixture
def older(yard, site):
    """A journal of ten entries, signed, of which the database has the first six again."""
    for n in range(10):
        record(yard.note(text=f"note {n}"), at=MORNING)
    make_checkpoint(site, at=LATER, cause=DAILY)
    take_back(site, 6)


def restored(site, yard, at=NEXT_DAY):
    return record_restore(site, reason="The disk died.", by=yard.by, at=at)


def test_a_journal_that_is_behind_takes_in_nothing(older, yard, site):
    ends = f"the journal of site {site.slug} ends at entry 6 of epoch 1, and entry 10 of epoch 1"
    with pytest.raises(BehindOutside, match=ends) as told:
        record(yard.note(), at=NEXT_DAY)
    where = f"on the site's page Seal, or with manage.py record_restore --site {site.slug}."
    assert str(told.value).endswith(where)
    with pytest.raises(BehindOutside):
        make_checkpoint(site, at=NEXT_DAY, cause=DAILY)

    assert (seqs(site), Note.objects.count()) == ([1, 2, 3, 4, 5, 6], 6)


def test_another_site_goes_on(older, yard):
    other = MembershipFactory().site

    assert record(yard.note(site=other, cart=None, cart_id=yard.cart.pk), at=NEXT_DAY).first


def test_the_restore_names_what_is_missing_and_begins_an_epoch(older, yard, site):
    lost = outside.newest(site.pk)

    row = restored(site, yard)

    told = Restore.objects.get()
    assert (told.missing_from, told.missing_to, told.epoch) == (7, 10, 2)
    assert checkpoint.read(told.outside) == lost
    head = JournalHead.objects.get(pk=site.pk)
    assert (head.epoch, head.size) == (2, 7)
    said = statement_of(row)
    assert (said.epoch, said.size, row.cause) == (2, 7, "restore")
    assert outside.newest(site.pk) == said


def test_recording_goes_on_after_the_restore(older, yard, site):
    restored(site, yard)

    for n in range(9):
        record(yard.note(text=f"new {n}"), at=NEXT_DAY)
    row = make_checkpoint(site, at=NEXT_DAY, cause=DAILY)

    assert (row.epoch, row.size) == (2, 16)
    assert outside.leaves(site.pk, 0, 99) == [
        bytes(leaf) for leaf in Entry.objects.order_by("seq").values_list("leaf", flat=True)
    ]


def test_a_second_restore_has_nothing_to_name(older, yard, site):
    restored(site, yard)

    with pytest.raises(NothingMissing):
        restored(site, yard)

    assert Restore.objects.count() == 1


def test_without_a_checkpoint_outside_there_is_nothing_to_restore(yard, site):
    with pytest.raises(NothingMissing):
        restored(site, yard)


def test_a_journal_as_it_was_signed_has_nothing_to_restore(yard, site):
    record(yard.note(), at=MORNING)
    make_checkpoint(site, at=LATER, cause=DAILY)
    record(yard.note(), at=LATER)

    with pytest.raises(NothingMissing):
        restored(site, yard)


def test_an_older_database_of_an_older_epoch_is_behind_too(older, yard, site):
    restored(site, yard)
    take_back(site, 5)
    JournalHead.objects.filter(pk=site.pk).update(epoch=1)

    with pytest.raises(BehindOutside):
        record(yard.note(), at=NEXT_DAY)
    restored(site, yard)

    told = Restore.objects.latest("received_at", "id")
    assert (told.missing_from, told.missing_to, told.epoch) == (6, 7, 3)


def test_what_was_recorded_while_the_folder_was_away_is_named_too(older, yard, site, settings):
    folder = settings.CHECKPOINTS
    settings.CHECKPOINTS = folder.with_name("elsewhere")
    for n in range(6):
        record(yard.note(text=f"apart {n}"), at=NEXT_DAY)
    settings.CHECKPOINTS = folder

    with pytest.raises(Rewritten) as refused:
        make_checkpoint(site, at=NEXT_DAY, cause=DAILY)
    restored(site, yard)

    told = Restore.objects.get()
    assert (refused.value.entry, told.missing_from, told.missing_to) == (7, 7, 10)


def test_without_the_leaves_outside_every_signed_entry_is_named(older, yard, site, settings):
    (settings.CHECKPOINTS / f"{site.pk}.leaves").unlink()

    restored(site, yard)

    told = Restore.objects.get()
    assert (told.missing_from, told.missing_to) == (1, 10)


def test_a_checkpoint_of_the_ended_epoch_is_not_taken_for_the_new_one(older, yard, site, settings):
    old_text = outside.newest(site.pk).text
    restored(site, yard)
    for n in range(9):
        record(yard.note(text=f"new {n}"), at=NEXT_DAY)

    old = checkpoint.read(old_text)
    grown = make_checkpoint(site, at=NEXT_DAY, cause=DAILY, known_by=NEXT_DAY)
    outside.keep(old, lambda start, end: [])

    assert outside.newest(site.pk) == statement_of(grown)
    assert old.root != statement_of(grown).root


def test_an_ended_epochs_checkpoint_put_back_outside_must_have_been_told(older, yard, site):
    JournalHead.objects.filter(pk=site.pk).update(epoch=2)

    with pytest.raises(Rewritten, match=r"^Entry 7 of site "):
        make_checkpoint(site, at=NEXT_DAY, cause=DAILY)


@pytest.mark.parametrize("kept", range(0, 10))
def test_drills_name_the_gap_exactly(yard, site, kept):
    for n in range(10):
        record(yard.note(text=f"note {n}"), at=MORNING)
    make_checkpoint(site, at=LATER, cause=DAILY)
    take_back(site, kept)

    with pytest.raises(BehindOutside):
        record(yard.note(), at=NEXT_DAY)
    restored(site, yard)

    told = Restore.objects.get()
    assert (told.missing_from, told.missing_to) == (kept + 1, 10)


def test_the_start_says_that_the_database_is_older(older, site):
    found = check_seal(databases=["default"])

    assert [(fault.id, fault.is_serious()) for fault in found] == [("shared.W004", False)]


def test_the_start_misses_checkpoints_that_were_kept(yard, site, settings, tmp_path):
    make_checkpoint(site, at=MORNING, cause=DAILY)
    assert check_seal(databases=["default"]) == []
    settings.CHECKPOINTS = tmp_path / "not mounted"

    assert [fault.id for fault in check_seal(databases=["default"])] == ["shared.W005"]


def test_the_command_needs_a_manager_and_a_reason(older, yard, site, monkeypatch, capsys):
    monkeypatch.setattr(clock, "now", lambda: NEXT_DAY)
    told = {"site": site.slug, "by": yard.by.email, "reason": "The disk died."}
    with pytest.raises(CommandError, match="is no manager there today"):
        call_command("record_restore", **told)
    MembershipFactory(site=site, person=yard.by, role=Role.MANAGER)
    with pytest.raises(CommandError, match="--reason is empty"):
        call_command("record_restore", **told | {"reason": "  "})

    call_command("record_restore", **told)
    with pytest.raises(CommandError, match="Nothing is missing"):
        call_command("record_restore", **told)

    assert capsys.readouterr().out == "Recorded: entries 7 to 10 are missing; epoch 2 began.\n"


def forged(site, yard, **values):
    """Put a restore into the journal as one could who writes its rows, and leaves by hand."""
    triggers.lift(connection)
    head = JournalHead.objects.get(pk=site.pk)
    signed = outside.newest(site.pk).text
    times = {"done_at": NEXT_DAY, "written_at": NEXT_DAY}
    row = Restore(site=site, by=yard.by, outside=signed, **times, **values)
    entry = facts._seal(row, [], head, NEXT_DAY)
    for one in (row, entry):
        one.save(force_insert=True)
    head.epoch = row.epoch
    head.save()
    triggers.lay(connection)


def rewrite(site, seq):
    triggers.lift(connection)
    Entry.objects.filter(site=site, seq=seq).update(leaf=b"another" + bytes(25))
    triggers.lay(connection)


def test_a_forged_restore_cannot_tell_of_less_than_is_gone(older, yard, site):
    rewrite(site, 3)
    forged(site, yard, epoch=2, missing_from=7, missing_to=10, reason="The disk died.")

    with pytest.raises(Rewritten, match=r"^Entry 3 of site "):
        make_checkpoint(site, at=NEXT_DAY, cause=DAILY)
    assert outside.newest(site.pk).epoch == 1

    restored(site, yard)
    told = Restore.objects.latest("epoch")
    assert (told.missing_from, told.missing_to, told.epoch) == (3, 10, 3)


def test_a_crash_while_the_ended_epoch_is_set_aside_stops_nothing(older, yard, site, settings):
    newest = settings.CHECKPOINTS / f"{site.pk}.txt"
    before = newest.read_bytes()
    restored(site, yard)
    newest.write_bytes(before)
    (settings.CHECKPOINTS / f"{site.pk}.leaves").unlink()

    row = make_checkpoint(site, at=NEXT_DAY, cause=DAILY)

    assert (row.epoch, row.size, outside.newest(site.pk)) == (2, 7, statement_of(row))


def test_what_a_restore_kept_is_signed_in_the_epoch_that_wrote_it(older, yard, site):
    restored(site, yard)

    kept = make_checkpoint(site, at=NEXT_DAY, cause=DAILY, known_by=MORNING)
    whole = make_checkpoint(site, at=NEXT_DAY, cause=DAILY, known_by=NEXT_DAY)

    assert [(row.epoch, row.size) for row in (kept, whole)] == [(1, 6), (2, 7)]
    assert outside.newest(site.pk) == statement_of(whole)
    assert [*verifying.byte_faults(site)] == []


def test_leaves_of_an_ended_epoch_still_tell_what_was_rewritten(older, yard, site, settings):
    restored(site, yard)
    rewrite(site, 3)
    newer = b"".join(bytes(entry.leaf) for entry in Entry.objects.filter(site=site).order_by("seq"))
    (settings.CHECKPOINTS / f"{site.pk}.leaves").write_bytes(newer)

    first = next(iter(verifying.byte_faults(site)))

    assert str(first) == "entry 3: it is not the entry that was signed"
