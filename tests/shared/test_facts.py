"""Facts and the journal: one entry a fact, told once, sealed as the columns have it."""

import hashlib
import json
from datetime import datetime, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import transaction
from django.db.models import ProtectedError
from django.db.transaction import TransactionManagementError

from fleet.models import Note, Reading
from shared.canonical import body_of
from shared.facts import (
    OtherBody,
    StillToCome,
    correction_of,
    filed_before,
    lock_sites,
    record,
    record_all,
    strike,
)
from shared.models import Change, Entry, JournalHead
from tests.factories import MORNING, CartFactory, PersonFactory, SiteFactory
from tests.yard import LATER, seqs

pytestmark = [pytest.mark.django_db, pytest.mark.both]


def test_record_files_the_fact_with_one_sealed_entry(yard):
    fact = yard.note(done_at=MORNING, written_at=LATER)

    filed = record(fact, at=LATER)

    entry = Entry.objects.get()
    stored = Note.objects.get()
    assert (filed.first, entry.seq, entry.kind) == (True, 1, "fleet.note")
    assert (entry.fact_id, entry.cart_id) == (fact.pk, yard.cart.pk)
    assert (stored.done_at, stored.written_at, stored.received_at) == (MORNING, LATER, LATER)
    assert bytes(entry.body) == body_of(stored, [])
    assert len(bytes(entry.salt)) == 16
    salted = b"\x00" + bytes(entry.salt) + bytes(entry.body)
    assert bytes(entry.leaf) == hashlib.sha256(salted).digest()


def test_record_numbers_each_sites_entries_without_gaps(yard):
    other = SiteFactory()
    for site in (yard.cart.site, other, yard.cart.site, yard.cart.site, other):
        record(yard.note(site=site), at=MORNING)

    assert (seqs(yard.cart.site), seqs(other)) == ([1, 2, 3], [1, 2])


def test_record_undone_leaves_no_gap(yard):
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        record(yard.note(), at=MORNING)
        raise ZeroDivisionError

    record(yard.note(), at=MORNING)

    assert seqs(yard.cart.site) == [1]
    assert JournalHead.objects.get().size == 1


def test_received_at_never_runs_backwards(yard):
    record(yard.note(), at=LATER)
    early = record(yard.note(), at=MORNING).fact
    late = record(yard.note(), at=LATER + timedelta(seconds=1)).fact

    tick, second = timedelta(microseconds=1), timedelta(seconds=1)
    assert [early.received_at, late.received_at] == [LATER + tick, LATER + second]


def test_times_left_open_become_the_moment_of_arrival(yard):
    fact = record(yard.note(), at=MORNING).fact

    assert (fact.done_at, fact.written_at) == (MORNING, MORNING)


def test_times_left_open_are_the_clocks_though_it_was_ahead_before(yard):
    record(yard.note(), at=LATER)

    fact = record(yard.note(id=(fact_id := uuid4())), at=MORNING).fact

    assert fact.received_at == LATER + timedelta(microseconds=1)
    assert (fact.done_at, fact.written_at) == (MORNING, MORNING)
    again = record(yard.note(id=fact_id), at=LATER)
    assert (again.first, again.fact.done_at, again.fact.written_at) == (False, MORNING, MORNING)
    assert again.fact.received_at == LATER + timedelta(microseconds=1)


def test_same_id_sent_again_gets_the_first_answer(yard):
    first = record(yard.note(id=(fact_id := uuid4())), at=MORNING)

    again = record(yard.note(id=fact_id), at=LATER)

    assert (first.first, again.first) == (True, False)
    assert (again.fact.received_at, again.fact.done_at) == (MORNING, MORNING)
    assert (Note.objects.count(), seqs(yard.cart.site)) == (1, [1])


def test_same_id_twice_in_one_call_is_filed_once(yard):
    fact_id = uuid4()

    filed = record_all([(yard.note(id=fact_id), ()), (yard.note(id=fact_id), ())], at=MORNING)

    assert [one.first for one in filed] == [True, False]
    assert (Note.objects.count(), seqs(yard.cart.site)) == (1, [1])


@pytest.mark.parametrize(
    "other",
    [
        lambda yard: {"text": "found a screw"},
        lambda yard: {"by": PersonFactory()},
        lambda yard: {"site": SiteFactory()},
        lambda yard: {"cart": CartFactory()},
        lambda yard: {"done_at": MORNING - timedelta(microseconds=1)},
        lambda yard: {"written_at": MORNING + timedelta(microseconds=1)},
    ],
    ids=["text", "person", "site", "cart", "done", "written"],
)
def test_same_id_with_another_body_is_refused(yard, other):
    fact_id = uuid4()
    record(yard.note(id=fact_id), at=MORNING)
    changed = yard.note(id=fact_id, **other(yard))

    with pytest.raises(OtherBody) as refused:
        record_all([(yard.note("a new one"), ()), (changed, ())], at=LATER)

    assert refused.value.fact is changed
    assert [note.text for note in Note.objects.all()] == ["found a nail"]


def test_what_was_filed_before_is_answered_only_whole_and_unchanged(yard):
    ids = uuid4(), uuid4()
    record_all([(yard.note(id=each), ()) for each in ids], at=MORNING)

    def asked(*notes):
        return filed_before([(note, ()) for note in notes])

    both = asked(*[yard.note(id=each) for each in ids])
    assert [(one.first, one.fact.received_at) for one in both] == [(False, MORNING)] * 2
    assert asked(yard.note(id=ids[0]), yard.note(id=ids[1], text="another")) is None
    assert asked(yard.note(id=ids[0]), yard.note()) is None


def test_same_id_of_another_kind_is_refused(yard):
    fact_id = uuid4()
    record(yard.note(id=fact_id), at=MORNING)

    with pytest.raises(OtherBody):
        record(Change(id=fact_id, site=yard.cart.site, by=yard.by, what="bay"), at=MORNING)

    assert Change.objects.count() == 0


def test_decimals_are_rounded_to_the_column_before_they_are_sealed(yard):
    reading = Reading(
        site=yard.cart.site, cart=yard.cart, by=yard.by, hours_shown=Decimal("412.0005")
    )
    record(reading, at=MORNING)
    typed = Reading(site=yard.cart.site, cart=yard.cart, by=yard.by, hours_shown="412.5")
    record(typed, at=MORNING)

    assert (reading.hours_shown, typed.hours_shown) == (Decimal("412.000"), Decimal("412.500"))
    for stored in Reading.objects.all():
        entry = Entry.objects.get(fact_id=stored.pk)
        assert body_of(stored, []) == bytes(entry.body)


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ({"hours_shown": Decimal("NaN")}, "hours_shown cannot hold Decimal"),
        ({"hours_shown": Decimal("1E9")}, "hours_shown has more than 12 digits"),
        ({"typed": "4\x0012"}, "typed holds a NUL"),
        ({"typed": "4" * 81}, "typed is longer than 80"),
        ({"done_at": datetime(2026, 3, 2, 12)}, "done_at needs a time zone"),
    ],
    ids=["no number", "too many digits", "nul", "too long", "naive"],
)
def test_what_a_column_cannot_hold_is_refused_by_name(yard, values, why):
    with pytest.raises(ValueError, match=why):
        record(Reading(site=yard.cart.site, cart=yard.cart, by=yard.by, **values), at=MORNING)

    assert Entry.objects.count() == 0


@pytest.mark.parametrize("count", [10, 1000])
def test_many_facts_cost_queries_by_the_batch(yard, count, django_assert_max_num_queries):
    facts = [(yard.note(str(number)), ()) for number in range(count)]

    with django_assert_max_num_queries(12 + count // 20):
        filed = record_all(facts, at=MORNING)

    assert [one.first for one in filed] == [True] * count
    assert seqs(yard.cart.site) == list(range(1, count + 1))
    in_order = [entry.fact_id for entry in Entry.objects.order_by("seq")]
    assert in_order == [fact.pk for fact, _lines in facts]


def test_what_facts_name_cannot_be_deleted(yard):
    record(yard.note(), at=MORNING)

    for named in (yard.cart, yard.by, yard.cart.site):
        with pytest.raises(ProtectedError):
            named.delete()


@pytest.mark.django_db(transaction=True)
def test_lock_sites_outside_a_transaction_is_refused():
    with pytest.raises(TransactionManagementError):
        lock_sites(SiteFactory().pk)


def test_body_reads_as_plain_json(yard):
    record(yard.note("naïve"), at=MORNING)

    body = json.loads(bytes(Entry.objects.get().body))

    assert (body["kind"], body["text"], body["lines"]) == ("fleet.note", "naïve", [])
    assert (body["by"], body["done_at"]) == (str(yard.by.pk), "2026-03-02T13:00:00.000000+00:00")


def test_nothing_is_recorded_that_is_yet_to_be_done(yard):
    done_at = LATER + timedelta(minutes=5, microseconds=1)

    with pytest.raises(StillToCome):
        record(yard.note(done_at=done_at), at=LATER)
    assert not Entry.objects.exists()


def test_what_is_yet_to_be_done_is_refused_though_the_clock_was_ahead_before(yard):
    record(yard.note(), at=LATER)

    with pytest.raises(StillToCome):
        record(yard.note(done_at=LATER), at=MORNING)


def test_what_was_told_while_the_clock_was_ahead_may_be_told_again(yard):
    ahead = record(yard.note(), at=LATER).fact

    again = correction_of(ahead, reason="misread", by=yard.by, text="firm")
    record_all([(again, ()), (yard.note(done_at=LATER), ())], at=MORNING)

    assert (again.done_at, again.written_at) == (LATER, MORNING)
    assert strike(again, reason="never was", by=yard.by, at=MORNING).fact.done_at == MORNING


def test_a_clock_that_is_a_little_ahead_is_let_pass(yard):
    done_at = LATER + timedelta(minutes=5)

    assert record(yard.note(done_at=done_at), at=LATER).fact.done_at == done_at
