"""Checkpoints made while others record, and while the key is changed."""

from datetime import UTC, datetime
from functools import partial

import pytest

from shared import keys, outside
from shared.facts import record
from shared.models import Change, Checkpoint, Entry
from shared.sealing import leaves_of, make_checkpoint, rotate_key, statement_of
from shared.tree import root_of
from tests.at_once import at_once
from tests.yard import seqs

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.services]

DAILY = Checkpoint.Cause.DAILY


def now():
    return datetime.now(UTC)


def test_each_checkpoint_made_while_others_record_is_a_prefix(yard, postgres):
    site = yard.cart.site

    def write():
        for _ in range(10):
            record(yard.note(), at=now())

    def seal():
        return [statement_of(make_checkpoint(site, at=now(), cause=DAILY)) for _ in range(10)]

    answers = at_once(*[write] * 4, *[seal] * 4)

    assert (answers[:4], seqs(site)) == ([None] * 4, list(range(1, 41)))
    leaves = leaves_of(site.pk, 0, 40)
    made = [one for some in answers[4:] for one in some]
    assert [one.root for one in made] == [root_of(leaves[: one.size]) for one in made]
    newest = max(made, key=lambda one: one.size)
    assert outside.newest(site.pk).size == newest.size
    assert outside.leaves(site.pk, 0, 99) == leaves[: newest.size]


def test_what_is_signed_while_the_key_changes_is_signed_by_the_key_in_force(yard, postgres):
    site = yard.cart.site
    record(yard.note(), at=now())
    before = make_checkpoint(site, at=now(), cause=DAILY).key

    def seal():
        return [make_checkpoint(site, at=now(), cause=DAILY) for _ in range(10)]

    answers = at_once(*[seal] * 4, partial(rotate_key, by=yard.by, at=now()))

    after = keys.public_hex()
    assert answers[4] == after == Change.objects.get().value["key"]
    entry = Entry.objects.get(fact_id=Change.objects.get().pk)
    rows = Checkpoint.objects.order_by("id")
    assert {row.key for row in rows} == {before, after}
    assert [row.key for row in rows if row.size >= entry.seq and row.key != after] == []
    assert all(statement_of(row).is_signed() for row in rows)
