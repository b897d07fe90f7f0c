"""The daily mails go to workers by batches of people, and each goes out once."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core import mail
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import tasks
from fleet.actions import digests, notices
from fleet.actions.reminders import PEOPLE_A_BATCH, mail_digests, sweep
from fleet.models import Digest, Notice
from fleet.post import Post
from fleet.reminding import site_days
from shared.models import Role
from tests.factories import MembershipFactory, PersonFactory, RecheckFactory, SiteFactory

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 5)
MORNING = datetime(2026, 3, 5, 11, 0, tzinfo=UTC)


def due_at(site, people, rechecks=1):
    for _ in range(people):
        MembershipFactory(site=site, person=PersonFactory(home_site=site), role=Role.MECHANIC)
    for _ in range(rechecks):
        RecheckFactory(site=site, cart__site=site, opens_on=TODAY, due_on=TODAY)


@pytest.fixture
def asked(monkeypatch):
    """The batches that workers were asked to mail."""
    found = []

    def ask(arguments, expires):
        found.append(arguments[0])

    monkeypatch.setattr(tasks.mail_digests, "apply_async", ask)
    monkeypatch.setattr(tasks, "bell", tasks.Bell())
    monkeypatch.setattr("fleet.actions.reminders.PEOPLE_A_BATCH", 2)
    monkeypatch.setattr("shared.clock.now", lambda: MORNING)
    return found


def test_tasks_are_as_many_as_batches_of_people_whatever_is_due(asked):
    sites = [SiteFactory() for _ in range(2)]
    for site in sites:
        due_at(site, people=3, rechecks=5)

    sweep(MORNING, tasks.hand_out)

    assert len(mail.outbox) == 2
    assert [len(people) for people in asked] == [2, 2]
    assert PEOPLE_A_BATCH == 50


def test_each_mail_goes_out_once_however_often_it_is_handed_out(asked):
    due_at(SiteFactory(), people=5)

    for _ in range(2):
        sweep(MORNING, tasks.hand_out)
    for people in asked * 2:
        tasks.mail_digests(people)

    assert len(mail.outbox) == len({message.to[0] for message in mail.outbox}) == 5
    assert set(Notice.objects.values_list("sent_at", flat=True)) == {MORNING}
    assert set(Digest.objects.values_list("attempts", flat=True)) == {1}


def test_a_sweep_sends_all_where_no_worker_can_be_asked(asked, monkeypatch):
    def refuse(arguments, expires):
        raise TimeoutError("Timeout reading from socket")

    monkeypatch.setattr(tasks.mail_digests, "apply_async", refuse)
    due_at(SiteFactory(), people=5)

    sweep(MORNING, tasks.hand_out)

    assert (len(mail.outbox), asked) == (5, [])


def test_no_worker_is_asked_while_the_server_takes_nothing(asked, monkeypatch):
    monkeypatch.setattr("fleet.post.Post.has_time", lambda self: False)
    due_at(SiteFactory(), people=5)

    sweep(MORNING, tasks.hand_out)

    assert (mail.outbox, asked) == ([], [])


def test_a_site_is_looked_at_once_for_all_its_people():
    site = SiteFactory()
    due_at(site, people=12)
    sweep(MORNING - timedelta(hours=3))
    days = site_days(MORNING)
    digests.plan(days, at=MORNING)
    to = digests.people_waiting(at=MORNING)

    with Post() as post, CaptureQueriesContext(connection) as asked:
        digests.send(days, post, at=MORNING, to=to)

    read = [query for query in asked.captured_queries if 'FROM "fleet_recheck"' in query["sql"]]
    assert len(mail.outbox) == 12
    assert len(read) == 2


def statements_of(people, rechecks):
    """Return how many statements the mails of a site's people take, of so much new work."""
    site = SiteFactory()
    due_at(site, people, rechecks)
    days = {site.pk: site_days(MORNING)[site.pk]}
    notices.make(days, at=MORNING)
    digests.plan(days, at=MORNING)
    to = list(Digest.objects.filter(person__home_site=site).values_list("person", flat=True))
    before = len(mail.outbox)
    with CaptureQueriesContext(connection) as asked:
        assert mail_digests(to, MORNING) == {"sent": people}
    assert len(mail.outbox) - before == people
    return len(asked)


def test_statements_are_the_same_however_much_a_mail_tells():
    assert statements_of(people=1, rechecks=1) == statements_of(people=1, rechecks=45)


def test_a_mail_more_costs_its_claim_its_begin_and_its_end():
    own = 3 if connection.vendor == "postgresql" else 6

    assert statements_of(people=9, rechecks=3) - statements_of(people=2, rechecks=3) == 7 * own


def test_mails_of_some_people_are_theirs_alone():
    due_at(SiteFactory(), people=3)
    digests.plan(site_days(MORNING), at=MORNING)
    person = Digest.objects.first().person

    assert mail_digests([person.pk], MORNING) == {"sent": 1}
    assert [message.to for message in mail.outbox] == [[person.email]]
