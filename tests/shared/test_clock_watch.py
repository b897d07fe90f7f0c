"""A clock that is set while the tool runs, and what is noted of the service itself."""

from datetime import timedelta

import pytest
from django.db import DatabaseError, transaction

from fleet.actions.reminders import note_clock
from shared import clock
from shared.actions import note_done
from shared.models import LastDone
from tests.factories import MORNING

What = LastDone.What


@pytest.fixture
def steady(monkeypatch):
    """The steady clock's seconds, as a list of one that a test may set."""
    now_s = [1000.0]
    monkeypatch.setattr("shared.clock.seconds.clock_gettime", lambda which: now_s[0])
    return now_s


@pytest.mark.parametrize("by_s", [-31_536_000, -86_400, -3_600, -300, 300, 3_600, 31_536_000])
def test_a_step_is_told_once_with_its_sign(steady, by_s):
    watch = clock.Watch()
    watch.step_s(MORNING)
    steady[0] += 60

    stepped = MORNING + timedelta(seconds=60 + by_s)

    assert [watch.step_s(stepped), watch.step_s(stepped)] == [by_s, 0]


@pytest.mark.parametrize("by_s", [-299, 0, 299])
def test_a_small_step_is_none(steady, by_s):
    watch = clock.Watch()
    watch.step_s(MORNING)

    assert watch.step_s(MORNING + timedelta(seconds=by_s)) == 0


@pytest.mark.django_db
def test_a_step_is_noted(steady):
    watch = clock.Watch()
    for at in (MORNING, MORNING - timedelta(hours=1)):
        note_clock(watch, at=at)

    row = LastDone.objects.get()
    assert (row.what, row.at, row.said) == (
        What.CLOCK_STEPPED,
        MORNING - timedelta(hours=1),
        {"by_s": -3600},
    )


@pytest.mark.both
@pytest.mark.django_db(transaction=True)
def test_a_note_takes_the_place_of_the_one_before():
    note_done(What.BACKUP, at=MORNING, file="one")
    note_done(What.BACKUP, at=MORNING + timedelta(hours=1), file="two")

    assert list(LastDone.objects.values_list("at", "said")) == [
        (MORNING + timedelta(hours=1), {"file": "two"})
    ]


@pytest.mark.both
@pytest.mark.django_db(transaction=True)
def test_a_note_that_fails_leaves_its_callers_transaction_whole():
    with transaction.atomic():
        note_done(What.BACKUP, at=MORNING)
        note_done("x" * 21, at=None)

    assert LastDone.objects.get().what == What.BACKUP


@pytest.mark.django_db
def test_a_note_breaks_nobody_whatever_the_database_says(monkeypatch, caplog):
    def away(*rows, **how):
        raise DatabaseError("gone away")

    monkeypatch.setattr(LastDone.objects, "bulk_create", away)

    note_done(What.BACKUP, at=MORNING)

    assert "could not be noted" in caplog.text
