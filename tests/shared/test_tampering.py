"""Tamperings of ten kinds with the database, a thousand in the long profile: each found.

Whoever tampers here writes SQL as the owner of the database, triggers lifted, and knows how
leaves are computed. What lies outside the database he does not reach.
"""

import hashlib
import json
import os
from datetime import timedelta
from random import Random

import pytest
from django.db import connection, transaction
from django.db.models import F

from fleet.models import Note
from shared import triggers, verifying
from shared.canonical import canonical
from shared.facts import record, record_all
from shared.models import Checkpoint, Entry, JournalHead, Photo, new_id
from shared.photos import copy_path
from shared.sealing import make_checkpoint
from tests.factories import MORNING, CartFactory
from tests.yard import Yard

pytestmark = pytest.mark.django_db

NOTES, PHOTOS = 24, 6
EACH = 100 if os.environ.get("HYPOTHESIS_PROFILE") == "long" else 20
DAILY = Checkpoint.Cause.DAILY
SHOT = b"a photo of the label"


@pytest.fixture
def history(yard, django_capture_on_commit_callbacks):
    """A journal of notes and photos at a site, signed twice, and another site's beside it."""
    other = Yard(CartFactory(), yard.by)
    cart, by = yard.cart, yard.by
    photos = [_photo(cart, by, number) for number in range(PHOTOS)]
    notes = [yard.note(f"note {number}") for number in range(NOTES)]
    facts = [fact for pair in zip(notes[:PHOTOS], photos, strict=True) for fact in pair]
    facts += notes[PHOTOS:]
    with django_capture_on_commit_callbacks(execute=True):
        for hour, fact in enumerate(facts):
            record(fact, at=MORNING + timedelta(hours=hour))
            if hour == len(facts) // 2:
                make_checkpoint(cart.site, at=MORNING + timedelta(hours=hour), cause=DAILY)
        record_all([(other.note(f"elsewhere {number}"), ()) for number in range(5)], at=MORNING)
        make_checkpoint(cart.site, at=MORNING + timedelta(days=3), cause=DAILY)
        make_checkpoint(other.cart.site, at=MORNING + timedelta(days=3), cause=DAILY)
    triggers.lift(connection)
    return yard


def _photo(cart, by, number):
    shot = SHOT + bytes([number])
    sha256 = hashlib.sha256(shot).hexdigest()
    about = {"shows": "label-close", "width": 4, "height": 3}
    photo = Photo(
        site=cart.site,
        by=by,
        cart_id=cart.pk,
        original_sha256=sha256,
        copy_sha256=sha256,
        **about,
    )
    copy_path(photo).parent.mkdir(parents=True, exist_ok=True)
    copy_path(photo).write_bytes(shot)
    return photo


class Thief:
    """Does one kind of tampering to a random entry; each returns the entry to be named."""

    def __init__(self, yard, seed):
        self.site, self.random = yard.cart.site, Random(seed)
        self.entries = list(Entry.objects.filter(site=self.site))
        self.notes = [entry for entry in self.entries if entry.kind == Note.kind()]

    def _any(self, entries=None):
        return self.random.choice(entries or self.entries)

    def edit_row(self):
        """Edit what pages read, and leave the journal alone."""
        entry = self._any(self.notes)
        Note.objects.filter(pk=entry.fact_id).update(text="all firm")
        return entry.seq

    def edit_bytes(self):
        entry = self._any()
        body = bytearray(bytes(entry.body))
        body[self.random.randrange(len(body))] ^= 1 << self.random.randrange(8)
        self._write(entry, body=bytes(body))
        return entry.seq

    def drop(self):
        entry = self._any()
        Entry.objects.filter(pk=entry.pk).delete()
        return entry.seq

    def insert(self):
        """Put an entry in, and count the later ones up."""
        at = self.random.randint(1, len(self.entries))
        self._count_up(at)
        twin = self._any()
        twin.pk, twin.fact_id, twin.seq = None, new_id(), at
        twin.save(force_insert=True)
        JournalHead.objects.filter(site=self.site).update(size=F("size") + 1)
        return at

    def _count_up(self, at):
        later = Entry.objects.filter(site=self.site, seq__gte=at)
        later.update(seq=F("seq") + 1000)
        later.update(seq=F("seq") - 999)

    def swap(self):
        first, second = sorted(self.random.sample(self.entries, 2), key=lambda entry: entry.seq)
        Entry.objects.filter(pk=second.pk).update(seq=0)
        Entry.objects.filter(pk=first.pk).update(seq=second.seq)
        Entry.objects.filter(pk=second.pk).update(seq=first.seq)
        return first.seq

    def cut_tail(self):
        """Take the last entries away with their rows, and say that the journal ended there."""
        kept = self.random.randint(0, len(self.entries) - 1)
        gone = self.entries[kept:]
        for model in (Note, Photo):
            model.objects.filter(pk__in=[entry.fact_id for entry in gone]).delete()
        Entry.objects.filter(pk__in=[entry.pk for entry in gone]).delete()
        last_at = self.entries[kept - 1].received_at if kept else None
        JournalHead.objects.filter(site=self.site).update(size=kept, last_received_at=last_at)
        return kept + 1

    def recompute(self):
        """Edit a note everywhere: its row, its bytes and its leaf agree again."""
        entry = self._any(self.notes)
        said = json.loads(bytes(entry.body)) | {"text": "all firm"}
        Note.objects.filter(pk=entry.fact_id).update(text="all firm")
        self._write(entry, body=canonical(said), leaf_too=True)
        return entry.seq

    def roll_back(self):
        """Take the journal back to an earlier day, checkpoints of later days too."""
        seq = self.cut_tail()
        Checkpoint.objects.filter(site=self.site, size__gte=seq).delete()
        return seq

    def two_epochs(self):
        """Fork the history under another epoch that no restore tells of."""
        seq = self.recompute()
        JournalHead.objects.filter(site=self.site).update(epoch=2)
        Checkpoint.objects.filter(site=self.site).delete()
        return seq

    def foreign_row(self):
        """Pass another site's entry off as this one's, in the place of one of its own."""
        entry = self._any()
        Entry.objects.filter(pk=entry.pk).delete()
        foreign = Entry.objects.exclude(site=self.site).order_by("seq").last()
        Entry.objects.filter(pk=foreign.pk).update(site=self.site, seq=entry.seq)
        return entry.seq

    def swap_photo(self):
        entry = self._any([entry for entry in self.entries if entry.kind == Photo.kind()])
        path = copy_path(Photo.objects.get(pk=entry.fact_id))
        path.write_bytes(b"one good photo for all carts")
        return entry.seq

    def _write(self, entry, *, body, leaf_too=False):
        leaf = hashlib.sha256(b"\x00" + bytes(entry.salt) + body).digest()
        Entry.objects.filter(pk=entry.pk).update(
            body=body, leaf=leaf if leaf_too else bytes(entry.leaf)
        )


KINDS = [name for name in vars(Thief) if not name.startswith("_")]


def faults_of(site):
    return [*verifying.byte_faults(site), *verifying.row_faults(site)]


def test_untouched_history_has_no_fault(history):
    assert faults_of(history.cart.site) == []


@pytest.mark.parametrize("kind", KINDS)
def test_tampering_is_named_at_its_entry(kind, history):
    site = history.cart.site
    photos = {photo.pk: copy_path(photo).read_bytes() for photo in Photo.objects.all()}

    wrong = []
    for seed in range(EACH):
        with transaction.atomic():
            touched = getattr(Thief(history, seed), kind)()
            found = verifying.first_fault(faults_of(site))
            if found is None or found.seq != touched:
                wrong.append((seed, touched, str(found)))
            transaction.set_rollback(True)
        for photo in Photo.objects.filter(pk__in=photos):
            copy_path(photo).write_bytes(photos[photo.pk])

    assert wrong == []


def test_ten_kinds_are_tried():
    assert len(KINDS) >= 10
