"""Facts sent by several at once: one is first, none is lost, no number is skipped."""

from datetime import UTC, datetime
from functools import partial
from uuid import uuid4

import pytest

from fleet.models import Note
from shared.facts import correction_of, record, record_all
from shared.models import Entry
from tests.at_once import at_once
from tests.factories import MORNING, SiteFactory
from tests.yard import LATER, seqs

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.services]


def test_first_entries_of_a_site_written_at_once_are_all_numbered(yard, postgres):
    def write():
        return record(yard.note(), at=datetime.now(UTC)).first

    assert at_once(*[write] * 8) == [True] * 8
    assert seqs(yard.cart.site) == list(range(1, 9))
    times = list(Entry.objects.order_by("seq").values_list("received_at", flat=True))
    assert times == sorted(times)


def test_one_id_sent_eight_times_at_once_is_filed_once(yard, postgres):
    def send():
        return record(yard.note(id=fact_id), at=datetime.now(UTC)).first

    fact_id = uuid4()

    assert sorted(at_once(*[send] * 8)) == [False] * 7 + [True]
    assert (Note.objects.count(), seqs(yard.cart.site)) == (1, [1])


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


def test_sites_locked_crosswise_at_once_do_not_block_each_other(yard, postgres):
    sites = [SiteFactory() for _ in range(3)]

    def write(order):
        return len(record_all([(yard.note(site=site), ()) for site in order], at=MORNING))

    orders = [sites, sites[::-1], sites[1:], sites[1::-1]] * 2

    answers = at_once(*[partial(write, order) for order in orders])

    assert answers == [3, 3, 2, 2] * 2
    assert [seqs(site) for site in sites] == [list(range(1, n + 1)) for n in (6, 8, 6)]
