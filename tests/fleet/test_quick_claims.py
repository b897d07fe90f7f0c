"""A row claimed in one statement of its own is claimed as in any other way."""

from datetime import UTC, date, datetime, timedelta
from itertools import product

import pytest
from django.forms import model_to_dict

from fleet.actions import claims, quick_claims
from fleet.actions.claims import CLAIM_LAPSES
from fleet.mail_faults import WAITS
from fleet.models import CheckpointMail, Digest, Notice
from tests.factories import PersonFactory

pytestmark = [pytest.mark.django_db, pytest.mark.both]

AT = datetime(2026, 3, 5, 11, 0, tzinfo=UTC)
A_MINUTE = timedelta(minutes=1)
CLAIMED = (None, AT, AT - CLAIM_LAPSES - A_MINUTE, AT + CLAIM_LAPSES + A_MINUTE)
NEXT_TRY = (None, AT, AT + A_MINUTE, AT + WAITS[-1] + A_MINUTE)
SENDING = (None, AT - A_MINUTE)
ENDED = ({}, {"sent_at": AT}, {"dropped": "why"}, {"empty": True})


def every_state():
    """Write a digest in each state that a claim looks at."""
    person, day = PersonFactory(), date(2020, 1, 1)
    states = product(CLAIMED, NEXT_TRY, SENDING, ENDED)
    rows = [
        Digest(
            person=person,
            day=day + timedelta(days=number),
            planned_at=AT,
            claimed_at=claimed_at,
            next_try_at=next_try_at,
            sending_at=sending_at,
            **ended,
        )
        for number, (claimed_at, next_try_at, sending_at, ended) in enumerate(states)
    ]
    return Digest.objects.bulk_create(rows)


def told(rows):
    found = Digest.objects.in_bulk([row.pk for row in rows])
    return [model_to_dict(found[row.pk], exclude=["id", "day", "person"]) for row in rows]


def test_both_ways_claim_the_same_rows_and_write_the_same():
    one, other = every_state_twice()

    quick = [quick_claims.claim(row, AT, CLAIM_LAPSES) for row in one]
    usual = [claims.claim(Digest, row.pk, at=AT) is not None for row in other]

    assert quick == usual
    assert 0 < sum(quick) < len(quick)
    assert told(one) == told(other)
    written = told(one)
    for row, was_claimed, now in zip(one, quick, written, strict=True):
        if was_claimed:
            assert (row.attempts, row.claimed_at, row.sending_at) == (now["attempts"], AT, None)


def every_state_twice():
    return every_state(), every_state()


def test_a_row_that_was_tried_since_it_was_read_is_left_alone():
    (row, *_others) = every_state()
    claims.claim(Digest, row.pk, at=AT)
    claims.give_back([Digest.objects.get(pk=row.pk)], "away")
    Digest.objects.filter(pk=row.pk).update(attempts=1)

    assert not quick_claims.claim(row, AT, CLAIM_LAPSES)


def test_what_waits_is_said_alike_in_both_ways():
    every_state()
    for model in (Notice, Digest, CheckpointMail):
        found = model.objects.extra(where=[quick_claims.WAITING_SQL[model]])
        waiting = set(model.objects.filter(claims.WAITING[model]).values_list("pk", flat=True))

        assert set(found.values_list("pk", flat=True)) == waiting
