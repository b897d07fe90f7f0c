"""Mails that are put off, given up, or may have been sent: what their rows say."""

import smtplib
import time
from datetime import timedelta

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.db import OperationalError

from fleet import post
from fleet.actions import claims, quick_claims
from fleet.actions.claims import CLAIM_LAPSES, claim
from fleet.actions.reminders import sweep
from fleet.models import Digest
from fleet.post import NotTaken, Post
from shared.models import LastDone
from tests.at_once import at_once
from tests.fleet.test_reminders_sending import DAY, MORNING, fleet_with_people

pytestmark = pytest.mark.django_db

HERE = "tests.fleet.test_mail_retries"
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


class PutOff(EmailBackend):
    def send_messages(self, messages):
        raise smtplib.SMTPRecipientsRefused({messages[0].to[0]: (450, b"4.2.0 greylisted")})


class Unwritable(EmailBackend):
    """Fails of something that no server said."""

    def send_messages(self, messages):
        raise RuntimeError("a fault of our own")


class Slow(EmailBackend):
    """Takes a mail after a quarter of a second."""

    def send_messages(self, messages):
        time.sleep(0.25)
        return super().send_messages(messages)


@pytest.fixture
def row(db):
    fleet_with_people("ann@example.org")
    sweep(MORNING - HOUR)
    (person,) = Digest._meta.get_field("person").related_model.objects.all()
    return Digest.objects.create(person=person, day=DAY, planned_at=MORNING)


def test_a_mail_put_off_waits_longer_each_time(row, settings):
    settings.EMAIL_BACKEND = f"{HERE}.PutOff"
    tried = [
        minutes
        for minutes in range(0, 200)
        if sweep(MORNING + minutes * MINUTE).digests == {"failed": 1}
    ]

    row.refresh_from_db()
    assert tried == [0, 1, 6, 21, 51, 111, 171]
    assert (row.attempts, row.last_fault) == (7, "450 4.2.0 greylisted")
    assert (row.claimed_at, row.doubtful, row.is_dead) == (None, 0, False)
    assert row.next_try_at == MORNING + 231 * MINUTE


def test_once_a_few_mails_were_cut_off_first_tries_are_short(monkeypatch, settings):
    settings.EMAIL_BACKEND = f"{HERE}.Slow"
    monkeypatch.setattr(post, "MAIL_S", (0.1, 5))
    monkeypatch.setattr(post, "HASTY_S", 0.01)
    post.cut_off_at_s.clear()
    limits = []
    for _mail in range(3):
        with Post() as one, pytest.raises(NotTaken):
            limits.append(post._patience_s(1))
            one.send(mail.EmailMessage("due", "work", to=["ann@example.org"]))

    assert limits == [0.1, 0.1, 0.01]
    assert post._patience_s(2) == 5
    monkeypatch.setattr(post, "HASTY_FOR_S", 0)
    assert post._patience_s(1) == 0.1
    post.cut_off_at_s.clear()


def test_a_mail_put_off_for_too_long_is_dead(row, settings):
    settings.EMAIL_BACKEND = f"{HERE}.PutOff"
    Digest.objects.update(attempts=claims.MOST_TRIES - 1)

    assert sweep(MORNING).digests == {"dead": 1}

    row.refresh_from_db()
    assert (row.is_dead, row.dropped) == (True, "450 4.2.0 greylisted")
    assert claims.MOST_TRIES == 4 + 7 * 24


def test_a_fault_of_our_own_is_dead_after_fewer_tries(row, settings):
    settings.EMAIL_BACKEND = f"{HERE}.Unwritable"

    ends = [sweep(MORNING + times * HOUR).digests for times in range(9)]

    assert ends == [{"failed": 1}] * 7 + [{"dead": 1}, {}]
    row.refresh_from_db()
    assert row.dropped == "RuntimeError: a fault of our own"


def test_a_worker_that_died_before_the_text_leaves_no_doubt(row):
    assert claim(Digest, row.pk, at=MORNING)

    assert sweep(MORNING + CLAIM_LAPSES + MINUTE).digests == {"sent": 1}

    row.refresh_from_db()
    assert (row.doubtful, row.deaths, row.attempts) == (0, 1, 2)


def test_a_worker_that_died_after_the_text_leaves_a_doubt(row):
    held = claim(Digest, row.pk, at=MORNING)
    claims._begin_text([held], MORNING)

    assert sweep(MORNING + CLAIM_LAPSES + MINUTE).digests == {"sent": 1}

    row.refresh_from_db()
    assert (row.doubtful, row.deaths) == (1, 1)


def test_one_who_lost_the_row_writes_nothing_into_it(row):
    slow = claim(Digest, row.pk, at=MORNING)
    other = claim(Digest, row.pk, at=MORNING + CLAIM_LAPSES + MINUTE)

    assert not claims.settle([slow], sent_at=MORNING)
    claims.give_back([slow], "away")
    claims.fail([slow], claims.Refusal(claims.Fault.NEVER, "no"), at=MORNING)

    row.refresh_from_db()
    assert (row.sent_at, row.claimed_at, row.attempts) == (None, other.claimed_at, 2)
    assert claims.settle([other], sent_at=MORNING)


@pytest.mark.parametrize("ahead", [HOUR, timedelta(days=365)])
def test_what_was_written_while_the_clock_was_ahead_holds_nothing_up(row, ahead):
    Digest.objects.update(claimed_at=MORNING + ahead, next_try_at=MORNING + 2 * ahead)

    assert sweep(MORNING).digests == {"sent": 1}


def test_a_digest_planned_while_the_clock_was_ahead_takes_the_place_of_none(row):
    later = MORNING + timedelta(days=365)
    Digest.objects.create(person=row.person, day=later.date(), planned_at=later, sent_at=later)

    assert sweep(MORNING).digests == {"sent": 1}


def test_the_fresh_go_before_those_that_failed(row, settings):
    fleet_with_people("bea@example.org")
    Digest.objects.update(attempts=1)

    sweep(MORNING)

    assert [message.to for message in mail.outbox] == [["bea@example.org"], ["ann@example.org"]]


def test_it_is_noted_whether_the_server_was_reached(row, settings):
    working = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "tests.fleet.test_reminders_sending.Down"
    sweep(MORNING)
    assert LastDone.objects.get(what="mail not reached").said == {
        "fault": "ConnectionRefusedError: nobody there"
    }
    assert not LastDone.objects.filter(what="mail reached").exists()

    settings.EMAIL_BACKEND = working
    sweep(MORNING + MINUTE)

    assert LastDone.objects.get(what="mail reached").at == MORNING + MINUTE


@pytest.mark.services
@pytest.mark.django_db(transaction=True)
def test_a_clock_step_gives_no_row_to_two_workers(postgres, row):
    """The second sees the first one's claim as lapsed, but not its lock."""
    later = MORNING + timedelta(days=1, hours=1)
    fleet_days = [MORNING, later, MORNING - timedelta(days=1)]
    held = []

    def act(rows, post, *, at):
        held.append(at)
        if at == MORNING:
            inner = at_once(*[lambda at=at: one(at) for at in fleet_days[1:]])
            assert inner == [{}, {}]
        return "sent"

    def one(at):
        return claims.send_each(Digest.objects.filter(pk=row.pk), act, AlwaysTime(), at=at)

    assert one(MORNING) == {"sent": 1}
    assert held == [MORNING]


@pytest.mark.services
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("deaths", [1, 2])
def test_a_worker_that_stands_still_for_longer_than_its_claim_keeps_its_mail(postgres, row, deaths):
    """Its lock tells that it did not end."""
    Digest.objects.filter(pk=row.pk).update(deaths=deaths)
    meanwhile = []

    def act(held, post, *, at):
        meanwhile.extend(at_once(lambda: sweep(MORNING + 2 * CLAIM_LAPSES).digests))
        return "sent" if claims.settle(held, sent_at=at) else None

    assert claims.send_each(Digest.objects.all(), act, AlwaysTime(), at=MORNING) == {"sent": 1}

    row.refresh_from_db()
    assert meanwhile == [{}]
    assert (row.sent_at, row.deaths, row.dropped) == (MORNING, deaths, "")


class AlwaysTime:
    def has_time(self):
        return True


def losing(*, after_text):
    """Return an act that loses the database, before or after it wrote that the text goes out."""

    def act(held, post, *, at):
        if after_text:
            quick_claims.begin_text(held[0], at)
        raise OperationalError("terminating connection due to administrator command")

    return act


@pytest.mark.parametrize(("after_text", "doubtful"), [(False, 0), (True, 4)])
def test_a_database_that_is_lost_again_and_again_is_no_death_of_the_mail(row, after_text, doubtful):
    for minutes in range(4):
        with pytest.raises(OperationalError), Post() as one:
            moment = MORNING + minutes * MINUTE
            claims.send_each(Digest.objects.all(), losing(after_text=after_text), one, at=moment)

    assert sweep(MORNING + 4 * MINUTE).digests == {"sent": 1}
    row.refresh_from_db()
    assert (row.sent_at, row.dropped) == (MORNING + 4 * MINUTE, "")
    assert (row.attempts, row.deaths, row.doubtful) == (5, 0, doubtful)


def test_what_was_lost_and_is_anothers_now_is_left_to_it(row):
    with pytest.raises(OperationalError), Post() as one:
        claims.send_each(Digest.objects.all(), losing(after_text=False), one, at=MORNING)
    other = claim(Digest, row.pk, at=MORNING + 2 * CLAIM_LAPSES)

    assert sweep(MORNING + 2 * CLAIM_LAPSES).digests == {}
    other.refresh_from_db()
    assert other.claimed_at == MORNING + 2 * CLAIM_LAPSES
