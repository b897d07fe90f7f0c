"""Checkpoints: what is signed, what is kept outside, and what is refused."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection

from shared import checkpoint, keys, outside, sealing
from shared.facts import record_all
from shared.models import Checkpoint, Entry, JournalHead
from shared.sealing import Rewritten, leaves_of, make_checkpoint, statement_of, tree_of
from shared.tree import EMPTY_ROOT, root_of
from shared.triggers import lay, lift
from tests.factories import MORNING, SiteFactory
from tests.yard import LATER

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.both]

DAILY = Checkpoint.Cause.DAILY


def write(yard, count, at=MORNING):
    record_all([(yard.note(text=f"note {n}"), ()) for n in range(count)], at=at)


def tamper(sql, values=()):
    """Do what somebody with the whole database in hand could do."""
    lift(connection)
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
    lay(connection)


def leaves_at(site):
    return [bytes(entry.leaf) for entry in Entry.objects.filter(site=site).order_by("seq")]


def test_a_checkpoint_signs_the_root_of_all_leaves(yard):
    write(yard, 5)
    at = datetime(2026, 3, 2, 14, 0, 0, 123456, tzinfo=UTC)

    row = make_checkpoint(yard.cart.site, at=at, cause=DAILY)

    said = statement_of(Checkpoint.objects.get(pk=row.pk))
    assert (said.site, said.epoch, said.size) == (yard.cart.site_id, 1, 5)
    assert said.root == root_of(leaves_at(yard.cart.site))
    assert (said.at, said.key.hex(), said.is_signed()) == (at, keys.public_hex(), True)
    assert checkpoint.read(said.text) == said


def test_a_checkpoint_of_an_empty_journal_is_signed_too(db):
    site = SiteFactory()

    said = statement_of(make_checkpoint(site, at=MORNING, cause=DAILY))

    assert (said.size, said.root, said.is_signed()) == (0, EMPTY_ROOT, True)
    assert outside.newest(site.pk) == said


def test_a_checkpoint_of_what_was_known_by_a_moment_is_a_prefix(yard):
    write(yard, 3)
    write(yard, 2, at=LATER)

    said = statement_of(
        make_checkpoint(
            yard.cart.site, at=LATER, cause=DAILY, known_by=LATER - timedelta.resolution
        )
    )

    assert (said.size, said.root) == (3, root_of(leaves_at(yard.cart.site)[:3]))


def test_the_newest_checkpoint_is_kept_outside_with_every_leaf(yard):
    site = yard.cart.site
    for count in (3, 4):
        write(yard, count)
        last = make_checkpoint(site, at=LATER, cause=DAILY)
    make_checkpoint(site, at=LATER, cause=DAILY, known_by=MORNING - timedelta(days=1))

    assert outside.newest(site.pk) == statement_of(last)
    assert outside.leaves(site.pk, 0, 99) == leaves_at(site) == leaves_of(site.pk, 0, 7)


def test_the_tree_of_a_journal_proves_growth_from_its_checkpoint(yard):
    site = yard.cart.site
    write(yard, 3)
    early = statement_of(make_checkpoint(site, at=MORNING, cause=DAILY))
    write(yard, 6)

    tree = tree_of(site.pk, 9)

    assert (tree.root(3), tree.root()) == (early.root, root_of(leaves_at(site)))


@pytest.mark.parametrize("seq", [1, 4, 6])
def test_a_rewritten_journal_is_not_signed_and_its_first_entry_named(yard, seq):
    site = yard.cart.site
    write(yard, 6)
    make_checkpoint(site, at=MORNING, cause=DAILY)
    write(yard, 3)
    tamper("UPDATE shared_entry SET leaf = %s WHERE seq >= %s", [bytes(32), seq])

    with pytest.raises(Rewritten) as refused:
        make_checkpoint(site, at=LATER, cause=DAILY)

    assert (refused.value.entry, Checkpoint.objects.count()) == (seq, 1)


@pytest.mark.parametrize("seq", [1, 4, 6])
def test_an_entry_that_is_gone_is_named(yard, seq):
    write(yard, 6)
    tamper("DELETE FROM shared_entry WHERE seq = %s", [seq])

    with pytest.raises(Rewritten, match=f"^Entry {seq} of site "):
        make_checkpoint(yard.cart.site, at=LATER, cause=DAILY)


def test_a_checkpoint_is_of_the_epoch_that_a_restore_began_meanwhile(yard, monkeypatch):
    site, root_as_read = yard.cart.site, sealing._checked_root
    write(yard, 3)

    def begin_an_epoch(head, size):
        JournalHead.objects.filter(pk=site.pk).update(epoch=2)
        return root_as_read(head, size)

    monkeypatch.setattr(sealing, "_checked_root", begin_an_epoch)

    assert make_checkpoint(site, at=LATER, cause=DAILY).epoch == 2


def test_checkpoints_are_never_changed(yard):
    row = make_checkpoint(yard.cart.site, at=MORNING, cause=DAILY)
    row.size = 99

    with pytest.raises(Exception, match="insert only"):
        row.save()
