"""What the seal costs: saving a round, and looking at the whole history again."""

import os
from contextlib import contextmanager
from datetime import timedelta
from hashlib import sha256
from itertools import count
from unittest import mock
from uuid import uuid5

from django.db import transaction

from deploy.bench.pairs import Pair
from deploy.demo import answers
from fleet.actions import rounds
from fleet.models import Cart, Round
from lifts.models import Kit
from shared import facts, verifying
from shared.models import Entry, Site, new_id
from shared.tree import root_of

LEAVES = 100_000
SAVED_AT_ONCE = 10
PAGE_ROWS = 500


def pairs(at):
    """Return the lines about the seal, for the demo fleet that is loaded."""
    site = Site.objects.get(slug="brindlewick")
    round_of = _Rounds(site, at)
    leaves = [os.urandom(32) for _ in range(LEAVES)]
    return [
        Pair(
            "round-sealed",
            "saving a whole settle check, against the same without bytes, leaf and entry",
            1.25,
            round_of.save_unsealed,
            round_of.save,
        ),
        Pair(
            "verify-bytes",
            "stored bytes against leaves and tree, against reading them",
            2.5,
            lambda: _read_entries(site),
            lambda: list(verifying.byte_faults(site)),
        ),
        Pair(
            "verify-rows",
            "each typed row with its lines against its bytes, against reading both",
            4,
            lambda: _read_rows(site),
            lambda: list(verifying.row_faults(site)),
        ),
        Pair(
            "tree-root",
            f"the root over {LEAVES:,} leaves, against as many hashes alone",
            2.5,
            lambda: [sha256(b"\x01" + leaf + leaf).digest() for leaf in leaves],
            lambda: root_of(leaves),
        ),
    ]


class _Rounds:
    """Saves whole rounds at one lifted cart, each taken back at once."""

    def __init__(self, site, at):
        lifted = Cart.objects.in_fleet().filter(site=site, is_lifted=True, is_tagged=False)
        self.cart = lifted.select_related("site").order_by("number").first()
        last = Round.objects.filter(cart=self.cart).latest("done_at")
        self.by, self.at = last.by, at + timedelta(minutes=1)
        kit = Kit.objects.current().filter(site=site).first()
        self.joints, self.points = list(kit.joints.all()), list(kit.grease_points.all())
        self.ids = (uuid5(new_id(), str(number)) for number in count())

    def save(self):
        for _ in range(SAVED_AT_ONCE):
            with transaction.atomic():
                rounds.save_round(self.cart, self._taken(), by=self.by, at=self.at)
                transaction.set_rollback(True)

    def save_unsealed(self):
        with _without_seal():
            self.save()

    def _taken(self):
        parts = [
            answers.joints(self.joints, "settling", "W-2", lambda joint: {}),
            answers.grease(self.points, 3),
            answers.label(),
        ]
        return rounds.TakenDown(
            id=next(self.ids),
            opened_at=self.at - timedelta(minutes=20),
            parts=[(part, None) for part in parts],
        )


@contextmanager
def _without_seal():
    """File facts without canonical bytes, hash and entry; heads and locks stay."""
    insert = facts._insert_rows

    def insert_facts_alone(sealed):
        create = Entry._base_manager.bulk_create
        with mock.patch.object(type(Entry._base_manager), "bulk_create", _skip_entries(create)):
            insert(sealed)

    with (
        mock.patch.object(facts, "body_of", lambda fact, lines: b""),
        mock.patch.object(facts, "_insert_rows", insert_facts_alone),
    ):
        yield


def _skip_entries(create):
    def bulk_create(manager, rows, **more):
        if isinstance(rows[0], Entry):
            return rows
        return manager.get_queryset().bulk_create(rows, **more)

    return bulk_create


def _read_entries(site):
    for _page in verifying.pages(site):
        pass


def _read_rows(site):
    """Read each typed row, its lines and its entry, as the second pass must."""
    for model in verifying.fact_models():
        entries = Entry.objects.filter(site=site, kind=model.kind()).order_by("seq")
        after = -1
        while page := list(entries.filter(seq__gt=after)[:PAGE_ROWS]):
            verifying.rows_of(model, page)
            after = page[-1].seq
