"""Mail that fails, mail that is slow, workers that die and workers that race."""

import smtplib
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.core.management import CommandError, call_command
from django.db import connection

from fleet import post, tasks
from fleet.actions.claims import CLAIM_LAPSES, claim
from fleet.actions.reminders import sweep
from fleet.management.commands.sweep import for_ever
from fleet.models import Digest, Notice
from shared.models import Role
from tests.factories import (
    CartFactory,
    MembershipFactory,
    PersonFactory,
    RecheckFactory,
    SiteFactory,
)

DAY = date(2026, 3, 5)
MORNING = datetime(2026, 3, 5, 11, 0, tzinfo=UTC)
HERE = "tests.fleet.test_reminders_sending"


class Refusing(EmailBackend):
    """Refuses one address for good."""

    def send_messages(self, messages):
        if messages[0].to == ["bad@example.org"]:
            raise smtplib.SMTPRecipientsRefused({"bad@example.org": (550, b"no such user")})
        return super().send_messages(messages)


class Down(EmailBackend):
    """A server that nobody answers at."""

    def open(self):
        raise ConnectionRefusedError("nobody there")


class SenderUnwelcome(EmailBackend):
    def send_messages(self, messages):
        raise smtplib.SMTPSenderRefused(550, b"not you", "fleet@localhost")


class Dripping(EmailBackend):
    """Answers with a byte now and then, for ever."""

    def send_messages(self, messages):
        time.sleep(30)


class Counting(EmailBackend):
    opened = closed = 0

    def open(self):
        Counting.opened += 1

    def close(self):
        Counting.closed += 1


@pytest.fixture
def site(db):
    return fleet_with_people("ann@example.org", "bad@example.org", "cid@example.org")


def fleet_with_people(*addresses):
    site = SiteFactory()
    for address in addresses:
        person = PersonFactory(home_site=site, email=address)
        MembershipFactory(site=site, person=person, role=Role.MECHANIC)
    cart = CartFactory(site=site)
    RecheckFactory(cart=cart, opens_on=DAY - timedelta(days=3), due_on=DAY)
    return site


@pytest.fixture
def backend(settings):
    def use(cls):
        settings.EMAIL_BACKEND = f"{HERE}.{cls.__name__}"

    return use


def sent_to():
    return sorted(message.to[0] for message in mail.outbox)


def test_one_bad_address_does_not_keep_the_others_waiting(site, backend):
    backend(Refusing)

    swept = sweep(MORNING)

    assert sent_to() == ["ann@example.org", "cid@example.org"]
    assert swept.digests == {"sent": 2, "dead": 1}


@pytest.mark.parametrize("trouble", [Down, SenderUnwelcome])
def test_a_server_in_trouble_costs_no_try_and_loses_nothing(site, backend, trouble):
    backend(trouble)
    for minutes in range(30):
        sweep(MORNING + timedelta(minutes=minutes))
    assert set(Digest.objects.values_list("attempts", "claimed_at", "sent_at")) == {(0, None, None)}

    backend(EmailBackend)
    sweep(MORNING + timedelta(minutes=30))

    assert sent_to() == ["ann@example.org", "bad@example.org", "cid@example.org"]


def test_a_dripping_server_cannot_hold_the_sweep(site, backend, monkeypatch):
    backend(Dripping)
    monkeypatch.setattr(post, "MAIL_S", [0.1])

    began_s = time.monotonic()
    swept = sweep(MORNING)

    assert swept.digests == {"failed": 3}
    assert time.monotonic() - began_s < 5


def test_a_batch_that_took_long_leaves_the_rest_to_the_next_sweep(site, monkeypatch):
    monkeypatch.setattr(post, "BATCH_S", 0)
    assert sweep(MORNING).digests == {}

    monkeypatch.undo()

    assert sweep(MORNING).digests == {"sent": 3}


def test_a_batch_goes_over_one_connection(site, backend, monkeypatch):
    monkeypatch.setattr(Counting, "opened", 0)
    monkeypatch.setattr(Counting, "closed", 0)
    backend(Counting)

    sweep(MORNING)

    assert (len(mail.outbox), Counting.closed) == (3, 1)


def test_a_worker_that_died_before_mailing_leaves_the_mail_to_another(site):
    sweep(MORNING - timedelta(hours=1))
    for person in Notice.objects.values_list("person_id", flat=True):
        row = Digest.objects.create(person_id=person, day=DAY, planned_at=MORNING)
        assert claim(Digest, row.pk, at=MORNING)

    assert sweep(MORNING + CLAIM_LAPSES).digests == {}
    assert sweep(MORNING + CLAIM_LAPSES + timedelta(seconds=1)).digests == {"sent": 3}


LAPSED = CLAIM_LAPSES + timedelta(seconds=1)
TWO_HOURS_ON = MORNING + timedelta(hours=2)


def ended_its_worker_twice():
    """Return the daily mail of somebody, held by two workers that ended before now."""
    sweep(MORNING - timedelta(hours=1))
    person = Notice.objects.first().person
    row = Digest.objects.create(person=person, day=DAY, planned_at=MORNING)
    assert claim(Digest, row.pk, at=MORNING)
    assert claim(Digest, row.pk, at=MORNING + LAPSED)
    return row, MORNING + 2 * LAPSED


def test_a_mail_that_ends_its_worker_each_time_is_dead(site, backend):
    row, now = ended_its_worker_twice()

    # a last try comes long after those before
    assert sweep(now).digests == {"sent": 2}
    assert sweep(now + timedelta(minutes=59)).digests == {}
    assert claim(Digest, row.pk, at=now + timedelta(minutes=60))

    assert sweep(now + timedelta(minutes=60) + LAPSED).digests == {}
    row.refresh_from_db()
    assert (row.dropped, row.is_dead) == ("the worker ended at each of 3 tries", True)


def test_a_mail_that_ended_its_worker_twice_goes_out_an_hour_later(site):
    row, now = ended_its_worker_twice()
    Digest.objects.filter(pk=row.pk).update(sending_at=MORNING + LAPSED)
    sweep(now)

    assert sweep(now + timedelta(minutes=60)).digests == {"sent": 1}

    row.refresh_from_db()
    assert (row.doubtful, row.is_dead) == (1, False)


@pytest.mark.both
@pytest.mark.parametrize(
    ("of_another", "is_dead"),
    [
        ({"deaths": 1}, False),
        ({"deaths": 1, "sent_at": MORNING + timedelta(minutes=90)}, False),
        # sent by the sweep that the mail then ended
        ({"deaths": 1, "sent_at": TWO_HOURS_ON, "claimed_at": TWO_HOURS_ON}, False),
        ({"deaths": 1, "sent_at": MORNING}, True),  # long ago
        ({"deaths": 1, "dropped": "no longer wanted"}, True),
        ({"deaths": 0}, True),
        ({"deaths": 1, "claimed_at": TWO_HOURS_ON}, True),  # in the same mail
    ],
)
def test_of_many_that_end_their_workers_none_is_dead_so_soon(site, of_another, is_dead):
    row, _now = ended_its_worker_twice()
    Digest.objects.filter(pk=row.pk).update(deaths=2, claimed_at=TWO_HOURS_ON)
    another = Notice.objects.exclude(person=row.person).first().person
    Digest.objects.create(person=another, day=DAY, planned_at=MORNING, **of_another)

    sweep(TWO_HOURS_ON + LAPSED)

    row.refresh_from_db()
    assert (row.is_dead, row.deaths) == (is_dead, 2 if is_dead else 3)


def test_a_mail_that_ends_its_worker_six_times_is_dead_beside_others(site):
    row, now = ended_its_worker_twice()
    Digest.objects.filter(pk=row.pk).update(deaths=1)
    another = Notice.objects.exclude(person=row.person).first().person
    Digest.objects.create(person=another, day=DAY, planned_at=MORNING, deaths=1, claimed_at=now)

    tries = 2
    for _more in range(6):
        sweep(now)
        tries += claim(Digest, row.pk, at=now + timedelta(hours=1)) is not None
        now += timedelta(hours=1) + LAPSED
        Digest.objects.exclude(pk=row.pk).update(sent_at=now, deaths=1)

    assert tries == 6
    assert Digest.objects.get(pk=row.pk).dropped == "the worker ended at each of 6 tries"


def test_a_mail_given_up_later_than_at_its_third_try_says_how_many_there_were(site):
    row, _now = ended_its_worker_twice()
    Digest.objects.filter(pk=row.pk).update(deaths=4, claimed_at=TWO_HOURS_ON)

    sweep(TWO_HOURS_ON + LAPSED)

    assert Digest.objects.get(pk=row.pk).dropped == "the worker ended at each of 5 tries"


def test_a_mail_sent_twice_has_one_message_id(site, settings):
    settings.FLEET_URL = "https://carts.example.org:8443"
    sweep(MORNING)
    Digest.objects.update(sent_at=None)  # died before it could settle

    sweep(MORNING + 2 * CLAIM_LAPSES)

    ids = [message.extra_headers["Message-ID"] for message in mail.outbox]
    assert len(ids) == 6
    assert sorted(ids[:3]) == sorted(ids[3:])
    assert len(set(ids)) == 3
    assert all(one.startswith("<digest.2026-03-05.") for one in ids)
    assert all(one.endswith("@carts.example.org>") for one in ids)


def test_a_site_name_of_two_lines_breaks_no_header(site):
    site.name = "Heron\nBcc: all@example.org"
    site.save()

    sweep(MORNING)

    assert {message.subject for message in mail.outbox} == {
        "Carts at Heron Bcc: all@example.org: 1 due"
    }


def test_mail_goes_to_a_file_where_no_server_is_named(site, settings, tmp_path):
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = tmp_path

    for _ in range(2):
        sweep(MORNING)

    (file,) = tmp_path.iterdir()
    assert file.read_text().count("Message-ID: <digest.2026-03-05.") == 3


@pytest.mark.both
@pytest.mark.django_db(transaction=True)
def test_two_sweeps_in_a_row_send_once():
    fleet_with_people("ann@example.org", "cid@example.org")

    for _ in range(2):
        sweep(MORNING)

    assert sent_to() == ["ann@example.org", "cid@example.org"]
    assert (Notice.objects.count(), Digest.objects.count()) == (2, 2)


@pytest.mark.services
@pytest.mark.django_db(transaction=True)
def test_eight_sweeps_at_once_send_once(postgres):
    addresses = [f"person{number}@example.org" for number in range(12)]
    fleet_with_people(*addresses)
    at_once = threading.Barrier(8)

    def one_sweep(_):
        at_once.wait()
        try:
            return sweep(MORNING)
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        done = list(pool.map(one_sweep, range(8)))

    assert sent_to() == sorted(addresses)
    assert sum(swept.digests["sent"] for swept in done) == 12
    assert (Notice.objects.count(), Digest.objects.count()) == (12, 12)
    assert set(Digest.objects.values_list("attempts", flat=True)) == {1}


def test_the_task_sweeps_by_the_clock(site, monkeypatch):
    monkeypatch.setattr("shared.clock.now", lambda: MORNING)

    tasks.sweep()

    assert len(mail.outbox) == 3
    assert tasks.sweep.name == "fleet.sweep"


def test_the_command_prints_one_line_of_counts(site, capsys, monkeypatch):
    monkeypatch.setattr("shared.clock.now", lambda: MORNING)

    call_command("sweep", "--at", "2026-03-05T06:00-05:00")

    none = "0 sent, 0 empty, 0 dropped, 0 failed, 0 dead"
    assert capsys.readouterr().out == (
        f"notices 3; digests 3; checkpoints 0; at once: {none};"
        f" daily: 3 sent, 0 empty, 0 dropped, 0 failed, 0 dead; checkpoints mailed: {none}\n"
    )


@pytest.mark.parametrize("text", ["yesterday", "2026-03-05T07:00", "2026-03-05"])
def test_the_command_names_a_moment_it_cannot_read(text):
    with pytest.raises(CommandError, match=f"not {text}$"):
        call_command("sweep", "--at", text)


def test_the_command_refuses_a_moment_to_come(site):
    with pytest.raises(CommandError, match="is still to come: choose a moment before now"):
        call_command("sweep", "--at", "2999-03-05T07:00-05:00")

    assert mail.outbox == []


def test_the_loop_goes_on_after_a_sweep_that_failed(db):
    calls, slept = [], []

    def act():
        calls.append(len(calls))
        if len(calls) == 1:
            raise RuntimeError("the database is away")

    def sleep(seconds):
        slept.append(seconds)
        if len(slept) == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        for_ever(act, sleep=sleep)

    assert calls == [0, 1]
    assert all(59 < seconds <= 60 for seconds in slept)
