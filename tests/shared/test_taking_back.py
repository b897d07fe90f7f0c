"""Corrections, strikes and wrong-cart moves: only what stands is taken back, and stays readable."""

from datetime import timedelta
from functools import partial
from uuid import uuid4

import pytest

from fleet.models import Note
from shared.facts import NotStanding, correction_of, record, record_all, strike
from shared.models import Change, Entry, Strike
from shared.telling import history_of
from tests.factories import MORNING, CartFactory, PersonFactory, SiteFactory
from tests.yard import LATER, seqs

pytestmark = [pytest.mark.django_db, pytest.mark.both]


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
