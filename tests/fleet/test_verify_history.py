"""The command that looks whether the history is what was recorded, as its user sees it."""

import shutil
from datetime import timedelta
from uuid import uuid4

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection

from fleet.models import Cart, CartNumber, Note, Recheck, RuleBook
from lifts.actions import fit
from lifts.models import Joint, Kit
from shared import checkpoint, keys, triggers
from shared.facts import record
from shared.models import Change, Checkpoint, Entry, JournalHead, Membership, Site
from shared.sealing import make_checkpoint, record_restore, statement_of
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site
from tests.taking_back import take_back

pytestmark = pytest.mark.django_db

DAILY = Checkpoint.Cause.DAILY


@pytest.fixture
def place(django_capture_on_commit_callbacks):
    """A site with a kit, a cart and two notes, signed; triggers lifted."""
    with django_capture_on_commit_callbacks(execute=True):
        site, by = a_site()
        a_kit(site, by)
        cart = a_cart(site, by)
        for hour in (1, 2):
            note = Note(site=site, cart=cart, by=by, text=f"note {hour}")
            record(note, at=MORNING + timedelta(hours=hour))
        make_checkpoint(site, at=MORNING + timedelta(hours=3), cause=DAILY)
    triggers.lift(connection)
    return site, cart, by


def said(capsys, **options):
    """Return what the command prints, and whether it failed."""
    try:
        call_command("verify_history", **options)
    except CommandError as error:
        return capsys.readouterr().out + str(error), True
    return capsys.readouterr().out, False


def seq_of(fact_id):
    return Entry.objects.get(fact_id=fact_id).seq


def test_command_finds_nothing_in_an_untouched_history(place, capsys):
    site, _cart, _by = place

    out, failed = said(capsys, site=site.slug)

    size = Entry.objects.filter(site=site).count()
    assert not failed
    assert out == f"harbour: {size} entries in epoch 1, 1 checkpoints: nothing differs\n"


def test_command_names_the_first_bad_entry_first(place, capsys):
    first, second = Note.objects.order_by("done_at")
    Note.objects.filter(pk=second.pk).update(text="nothing found")
    Note.objects.filter(pk=first.pk).update(text="nothing found")

    out, failed = said(capsys)

    assert failed
    what = f"its row says something else (text): fleet.note {first.pk}"
    assert out.splitlines()[0] == f"harbour: entry {seq_of(first.pk)}: {what}"


def edit_book():
    book = RuleBook.objects.get()
    book.rules["rules"][0]["minutes"] = 1
    book.save()
    return book.pk, "rules"


def edit_role():
    row = Membership.objects.get()
    Membership.objects.update(may_release=True)
    change = Change.objects.get(what="role", person=row.person)
    return change.pk, "may_release"


def edit_mark():
    row = Membership.objects.get()
    Membership.objects.update(is_above=True)
    return Change.objects.get(what="role", person=row.person).pk, "is_above"


def edit_site():
    Site.objects.update(zone="UTC")
    return Change.objects.filter(what="site").latest("received_at").pk, "zone"


def edit_joint():
    joint = Joint.objects.first()
    Joint.objects.filter(pk=joint.pk).update(count=joint.count + 1)
    return joint.kit_id, "count"


def edit_edition():
    kit = Kit.objects.get()
    Kit.objects.update(replaced_at=MORNING)
    return kit.pk, "replaced_at"


@pytest.mark.parametrize(
    "edit", [edit_book, edit_role, edit_mark, edit_site, edit_joint, edit_edition]
)
def test_command_names_the_change_whose_row_was_edited(edit, place, capsys):
    change_id, name = edit()

    out, failed = said(capsys)

    assert failed
    told = f"its row says something else ({name})"
    assert out.splitlines()[0] == f"harbour: entry {seq_of(change_id)}: {told}"


def test_command_names_a_row_that_no_entry_tells_of(place, capsys):
    site, cart, by = place
    at = MORNING + timedelta(hours=2)
    note = Note(site=site, cart=cart, by=by, text="slipped in", received_at=at)
    note.done_at = note.written_at = at
    note.save(force_insert=True)

    out, failed = said(capsys)

    assert failed
    assert out.splitlines()[0] == f"harbour: no entry tells of fleet.note {note.pk}"


def test_command_takes_checkpoints_kept_elsewhere(place, capsys, tmp_path):
    site, _cart, _by = place
    kept = tmp_path / "kept.txt"
    kept.write_text(statement_of(Checkpoint.objects.get()).text)
    Checkpoint.objects.all().delete()
    last = Entry.objects.filter(site=site).last()
    shutil.rmtree(settings.CHECKPOINTS)
    Note.objects.filter(pk=last.fact_id).delete()
    Entry.objects.filter(pk=last.pk).delete()
    JournalHead.objects.update(size=last.seq - 1, last_received_at=MORNING + timedelta(hours=1))

    _without, failed_without = said(capsys)
    out, failed = said(capsys, checkpoint=[str(kept)])

    assert (failed_without, failed) == (False, True)
    assert out.startswith(f"harbour: entry {last.seq}: it is missing: the checkpoint of ")


def test_command_tells_how_many_of_those_given_it_compared(place, capsys, tmp_path):
    kept = tmp_path / "kept.txt"
    kept.write_text(statement_of(Checkpoint.objects.get()).text)

    out, failed = said(capsys, checkpoint=[str(kept)])

    assert not failed
    assert out.endswith(" entries in epoch 1, 1 checkpoints and 1 given: nothing differs\n")


def test_command_says_that_nothing_outside_was_there(place, capsys, tmp_path):
    kept = tmp_path / "kept.txt"
    kept.write_text(statement_of(Checkpoint.objects.get()).text)
    shutil.rmtree(settings.CHECKPOINTS)

    out, failed = said(capsys)
    with_one, _failed = said(capsys, checkpoint=[str(kept)])

    assert not failed
    assert ": nothing differs, but nothing outside was there to compare with: put " in out
    assert with_one.endswith(" 1 given: nothing differs\n")


def test_command_names_a_given_checkpoint_that_a_restore_cut_off(
    place, capsys, tmp_path, django_capture_on_commit_callbacks
):
    site, _cart, by = place
    row = Checkpoint.objects.get()
    kept = tmp_path / "kept.txt"
    kept.write_text(statement_of(row).text)
    take_back(site, row.size - 1)
    with django_capture_on_commit_callbacks(execute=True):
        at = MORNING + timedelta(days=1)
        record_restore(site, reason="The disk died.", by=by, at=at)

    out, failed = said(capsys, checkpoint=[str(kept)])

    size = row.size
    assert not failed
    assert out.splitlines() == [
        f"harbour: a restore opened epoch 2: entries {size} to {size} are missing",
        f"harbour: the checkpoint of 2026-03-02 16:00 UTC (epoch 1, size {size}) was given: "
        "the restore that opened epoch 2 cut it off",
        f"harbour: {size} entries in epoch 2, 1 checkpoints: nothing differs",
    ]


def test_command_refuses_a_file_without_a_checkpoint(place, capsys, tmp_path):
    empty = tmp_path / "empty.txt"
    empty.write_text("dear surveyor\n")

    out, failed = said(capsys, checkpoint=[str(empty)])

    assert (out, failed) == (f"{empty} holds no checkpoint.", True)


def test_command_names_a_file_without_a_checkpoint_and_goes_on_by_another(place, capsys, tmp_path):
    empty, kept = tmp_path / "empty.txt", tmp_path / "kept.txt"
    empty.write_text("dear surveyor\n")
    kept.write_text(statement_of(Checkpoint.objects.get()).text)

    out, failed = said(capsys, checkpoint=[str(empty), str(kept)])

    assert not failed
    assert out.startswith(f"{empty} holds no checkpoint.\nharbour: ")


def test_command_refuses_a_checkpoint_that_nothing_is_held_against(place, capsys, tmp_path):
    site, _cart, _by = place
    kept = statement_of(Checkpoint.objects.get()).text
    foreign, mine = tmp_path / "foreign.txt", tmp_path / "mine.txt"
    foreign.write_text(kept.replace(str(site.pk), str(uuid4())) + kept)
    mine.write_text(kept)
    pier, _by = a_site("pier")

    unknown, is_refused = said(capsys, checkpoint=[str(foreign)])
    other, is_refused_too = said(capsys, site=pier.slug, checkpoint=[str(mine)])
    both, failed = said(capsys, checkpoint=[str(mine)])

    assert (is_refused, is_refused_too, failed) == (True, True, False)
    assert unknown.endswith(", which is not looked at here.")
    assert (
        other == f"A checkpoint that was given is of site {site.pk}, which is not looked at here."
    )
    assert "harbour" in both


def test_command_names_a_change_of_the_key_that_the_old_key_did_not_sign(place, capsys):
    site, _cart, by = place
    value = {"key": "ab" * 32, "before": keys.public_hex(), "signature": "00" * 64}
    change = Change(site=site, by=by, what="signing key", value=value)
    record(change, at=MORNING + timedelta(hours=4))

    out, failed = said(capsys)

    assert failed
    told = "the old key did not sign this change of the key"
    assert out.splitlines()[0] == f"harbour: entry {seq_of(change.pk)}: {told}"


def test_command_names_a_checkpoint_of_an_epoch_that_is_still_to_come(place, capsys, tmp_path):
    site, _cart, _by = place
    row = Checkpoint.objects.get()
    told = {"site": site.pk, "size": row.size, "root": bytes(row.root), "at": MORNING}
    later = checkpoint.sign(keys.private_key(), epoch=2, **told)
    kept = tmp_path / "kept.txt"
    kept.write_text(later.text)

    out, failed = said(capsys, checkpoint=[str(kept)])

    assert failed
    assert "(epoch 2, size " in out
    assert "is of a later epoch than the journal" in out


@pytest.mark.parametrize(
    "edit",
    [
        lambda cart: Cart.objects.update(bay="elsewhere"),
        lambda cart: CartNumber.objects.update(number="999"),
        lambda cart: Recheck.objects.filter(cart=cart).delete(),
    ],
)
def test_command_names_rows_that_lists_read_and_that_facts_do_not_say(edit, place, capsys):
    _site, cart, by = place
    fit(cart, Kit.objects.get(), by=by, at=MORNING + timedelta(hours=4))
    _out, failed_before = said(capsys)
    edit(cart)

    out, failed = said(capsys)

    assert (failed_before, failed) == (False, True)
    assert str(cart.pk) in out
