"""Facts and the journal: one entry a fact, told once, taken back only by another entry."""

import hashlib
import json
import threading
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import partial
from uuid import uuid4

import pytest
from django.db import connection, transaction
from django.db.models import ProtectedError
from django.db.transaction import TransactionManagementError

from fleet.models import Note, Reading
from shared.canonical import body_of
from shared.facts import (
    NotStanding,
    OtherBody,
    correction_of,
    lock_sites,
    record,
    record_all,
    strike,
)
from shared.models import Change, Entry, JournalHead, Strike
from shared.telling import history_of
from tests.factories import MORNING, CartFactory, PersonFactory, SiteFactory

pytestmark = [pytest.mark.django_db, pytest.mark.both]

LATER = MORNING + timedelta(hours=1)


@dataclass(frozen=True)
class Yard:
    """A cart at a site, and a mechanic who writes about it."""

    cart: object
    by: object

    def note(self, text="found a nail", **values):
        return Note(
            **{"site": self.cart.site, "cart": self.cart, "by": self.by, "text": text} | values
        )


@pytest.fixture
def yard(db):
    return Yard(CartFactory(), PersonFactory())


def seqs(site):
    return list(Entry.objects.filter(site=site).values_list("seq", flat=True))


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

    assert [early.received_at, late.received_at] == [LATER, LATER + timedelta(seconds=1)]


def test_times_left_open_become_the_moment_of_arrival(yard):
    fact = record(yard.note(), at=MORNING).fact

    assert (fact.done_at, fact.written_at) == (MORNING, MORNING)


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


def test_a_correction_takes_the_place_of_what_stood(yard):
    old = record(yard.note("found a nial"), at=MORNING).fact
    new = correction_of(old, reason="typing slip", by=yard.by, text="found a nail")

    record(new, at=LATER)

    assert [note.text for note in Note.objects.standing(LATER)] == ["found a nail"]
    assert [note.text for note in Note.objects.standing(MORNING)] == [
        "found a nial",
        "found a nail",
    ]
    known = Note.objects.known(MORNING, MORNING).standing(MORNING)
    assert [note.text for note in known] == ["found a nial"]
    assert Note.objects.get(pk=old.pk).text == "found a nial"


def test_a_strike_takes_back_and_replaces_nothing(yard):
    old = record(yard.note(), at=MORNING).fact

    filed = strike(old, reason="told of the wrong day", by=yard.by, at=LATER)

    assert (filed.fact.corrects, filed.fact.cart_id) == (old.pk, yard.cart.pk)
    assert list(Note.objects.standing(LATER)) == []
    assert list(Note.objects.standing(MORNING)) == [old]
    assert Note.objects.get().text == "found a nail"


def test_a_strike_sent_again_is_answered_the_same(yard):
    old = record(yard.note(), at=MORNING).fact
    again = partial(strike, old, reason="slip", by=yard.by, id=uuid4())

    assert [again(at=MORNING).first, again(at=LATER).first] == [True, False]
    assert Strike.objects.count() == 1


def test_a_wrong_cart_move_leaves_both_readable(yard):
    right = CartFactory(site=yard.cart.site)
    old = record(yard.note(), at=MORNING).fact

    moved = record(correction_of(old, reason="wrong cart", by=yard.by, cart=right), at=LATER).fact

    assert [note.cart for note in Note.objects.standing(LATER)] == [right]
    of_carts = list(Entry.objects.order_by("seq").values_list("cart_id", "corrects"))
    assert of_carts == [(yard.cart.pk, None), (right.pk, old.pk)]
    assert [told.values["cart"] for told in history_of(moved.pk)] == [
        str(yard.cart.pk),
        str(right.pk),
    ]


def refused(yard, fact, at=LATER):
    with pytest.raises(NotStanding) as refusal:
        record(fact, at=at)
    return str(refusal.value.why)


def test_only_a_standing_fact_of_the_site_is_taken_back(yard):
    old = record(yard.note(), at=MORNING).fact
    correct = partial(correction_of, reason="slip", by=yard.by)
    change = Change(site=yard.cart.site, by=yard.by, what="bay", corrects=old.pk, why_corrected="x")
    nothing = yard.note(corrects=uuid4(), why_corrected="x")
    itself = yard.note(id=(own := uuid4()), corrects=own, why_corrected="x")

    assert refused(yard, nothing) == "there is no such entry at this site"
    assert refused(yard, itself) == "there is no such entry at this site"
    assert refused(yard, correct(old, site=SiteFactory())) == "there is no such entry at this site"
    assert refused(yard, change) == "it is an entry of another kind"
    struck = strike(old, reason="slip", by=yard.by, at=LATER).fact
    assert refused(yard, correct(old)) == "it was corrected or struck already"
    assert refused(yard, correct(struck)) == "a strike stays: record the fact again"
    assert list(Note.objects.all()) == [old]


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_correction_says_why(yard, reason):
    old = record(yard.note(), at=MORNING).fact

    with pytest.raises(ValueError, match="without saying why"):
        strike(old, reason=reason, by=yard.by, at=LATER)


def test_one_call_takes_a_fact_back_only_once(yard):
    old = record(yard.note(), at=MORNING).fact
    twice = [correction_of(old, reason="slip", by=yard.by, text=text) for text in "ab"]

    with pytest.raises(NotStanding, match="already"):
        record_all([(fact, ()) for fact in twice], at=LATER)

    assert list(Note.objects.all()) == [old]


def test_a_fact_may_be_corrected_by_the_call_that_records_it(yard):
    old = yard.note(done_at=MORNING)
    new = correction_of(old, reason="slip", by=yard.by, text="better")

    record_all([(old, ()), (new, ())], at=MORNING)

    assert list(Note.objects.standing(MORNING)) == [new]


def test_a_moved_carts_old_entries_are_corrected_at_its_new_site(yard):
    new_site = SiteFactory()
    old = record(yard.note(), at=MORNING).fact
    stranger = correction_of(old, reason="slip", by=yard.by, site=new_site, text="x")
    assert refused(yard, stranger) == "there is no such entry at this site"
    record(yard.note("come over", site=new_site), at=MORNING)

    record(correction_of(old, reason="slip", by=yard.by, site=new_site, text="better"), at=LATER)
    second = record(yard.note("old too"), at=LATER).fact
    strike(second, reason="slip", by=yard.by, at=LATER, site=new_site)

    assert [note.text for note in Note.objects.standing(LATER)] == ["come over", "better"]
    assert (seqs(yard.cart.site), seqs(new_site)) == ([1, 2], [1, 2, 3])


def test_history_tells_who_when_and_why(yard):
    manager = PersonFactory()
    first = record(yard.note("a"), at=MORNING).fact
    second = record(correction_of(first, reason="misread", by=manager, text="b"), at=LATER).fact
    strike(second, reason="other cart", by=yard.by, at=LATER + timedelta(hours=1))
    record(yard.note("another"), at=LATER)

    told = history_of(second.pk)

    assert [(one.by, one.why, one.values.get("text")) for one in told] == [
        (yard.by, "", "a"),
        (manager, "misread", "b"),
        (yard.by, "other cart", None),
    ]
    assert [one.entry.received_at for one in told] == [
        MORNING,
        LATER,
        LATER + timedelta(hours=1),
    ]
    assert history_of(first.pk) == told
    assert history_of(uuid4()) == []


def at_once(*calls):
    """Run the calls in threads that start together; return what each answered or raised."""
    start = threading.Barrier(len(calls))
    answers = [None] * len(calls)

    def run(place, call):
        start.wait()
        try:
            answers[place] = call()
        except Exception as error:
            answers[place] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    return answers


@pytest.mark.django_db(transaction=True)
def test_first_entries_of_a_site_written_at_once_are_all_numbered(yard, postgres):
    def write():
        return record(yard.note(), at=datetime.now(UTC)).first

    assert at_once(*[write] * 8) == [True] * 8
    assert seqs(yard.cart.site) == list(range(1, 9))
    times = list(Entry.objects.order_by("seq").values_list("received_at", flat=True))
    assert times == sorted(times)


@pytest.mark.django_db(transaction=True)
def test_one_id_sent_eight_times_at_once_is_filed_once(yard, postgres):
    def send():
        return record(yard.note(id=fact_id), at=datetime.now(UTC)).first

    fact_id = uuid4()

    assert sorted(at_once(*[send] * 8)) == [False] * 7 + [True]
    assert (Note.objects.count(), seqs(yard.cart.site)) == (1, [1])


@pytest.mark.django_db(transaction=True)
def test_one_id_sent_to_two_sites_at_once_is_filed_at_one(yard, postgres):
    sites = [SiteFactory() for _ in range(4)]
    fact_id = uuid4()

    answers = at_once(
        *[
            partial(record, yard.note(id=fact_id, site_id=site.pk, site=site), at=MORNING)
            for site in sites
        ]
    )

    assert sorted(type(answer).__name__ for answer in answers) == ["Filed"] + ["OtherBody"] * 3
    assert Note.objects.count() == Entry.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_corrections_at_once_leave_one(yard, postgres):
    old = record(yard.note(), at=MORNING).fact
    texts = ["a", "b", "c", "d"]

    answers = at_once(
        *[
            partial(record, correction_of(old, reason="slip", by=yard.by, text=text), at=LATER)
            for text in texts
        ]
    )

    assert sorted(type(answer).__name__ for answer in answers) == ["Filed"] + ["NotStanding"] * 3
    assert Note.objects.standing(LATER).count() == 1


@pytest.mark.django_db(transaction=True)
def test_sites_locked_crosswise_at_once_do_not_block_each_other(yard, postgres):
    sites = [SiteFactory() for _ in range(3)]

    def write(order):
        return len(record_all([(yard.note(site=site), ()) for site in order], at=MORNING))

    orders = [sites, sites[::-1], sites[1:], sites[1::-1]] * 2

    answers = at_once(*[partial(write, order) for order in orders])

    assert answers == [3, 3, 2, 2] * 2
    assert [seqs(site) for site in sites] == [list(range(1, n + 1)) for n in (6, 8, 6)]


def test_body_reads_as_plain_json(yard):
    record(yard.note("naïve"), at=MORNING)

    body = json.loads(bytes(Entry.objects.get().body))

    assert (body["kind"], body["text"], body["lines"]) == ("fleet.note", "naïve", [])
    assert (body["by"], body["done_at"]) == (str(yard.by.pk), "2026-03-02T13:00:00.000000+00:00")
