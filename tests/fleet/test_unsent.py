"""Mails given up on, as the manager sees them, and tried again."""

from datetime import date, timedelta
from html import unescape
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.actions.dead_mails import try_again
from fleet.actions.reminders import sweep
from fleet.models import CheckpointMail, Digest, Notice
from shared import clock
from shared.models import Checkpoint, Role
from shared.sealing import make_checkpoint
from tests.factories import MORNING, CartFactory, MembershipFactory
from tests.lift_factories import a_cart, a_site, with_role

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)
DEAD = {"attempts": 5, "is_dead": True, "dropped": "550 5.1.1 no such user", "doubtful": 0}


@pytest.fixture
def here():
    return a_site()


@pytest.fixture
def site(here):
    return here[0]


@pytest.fixture
def signed_in(client, here):
    client.force_login(here[1])
    return client


def a_notice(site, person, **values):
    about = {"site": site, "person": person, "about": uuid4(), "stage": Notice.Stage.STOPPED}
    about |= {
        "day": date(2026, 3, 2),
        "made_at": MORNING,
        "cart": CartFactory(site=site, number="7"),
    }
    return Notice.objects.create(**about | DEAD | values)


def a_digest(person, day=date(2026, 3, 2), **values):
    return Digest.objects.create(person=person, day=day, planned_at=MORNING, **DEAD | values)


def a_checkpoint_mail(site, manager, **values):
    a_cart(site, manager)
    made = make_checkpoint(site, at=MORNING, cause=Checkpoint.Cause.DAILY)
    return CheckpointMail.objects.create(checkpoint=made, person=manager, **DEAD | values)


def page(client, site):
    return client.get(reverse("mails", args=[site.slug]))


def again(client, site, mail):
    return client.post(reverse("mails-again", args=[site.slug]), {"mail": mail}, follow=True)


def test_the_page_names_person_mail_reason_and_tries(signed_in, here, site):
    a_notice(site, here[1], doubtful=2)
    a_digest(here[1])
    a_checkpoint_mail(*here)

    shown = page(signed_in, site)

    rows = [(one.person, one.what, one.tries, one.doubtful) for one in shown.context["unsent"]]
    assert rows == [
        (here[1], "Notice: cart 7 stopped", 5, 2),
        (here[1], "Daily mail of 2 Mar 2026", 5, 0),
        (here[1], "Checkpoint of 2 Mar 2026", 5, 0),
    ]
    assert shown.text.count("550 5.1.1 no such user") == 3


def test_a_reason_is_told_once_with_what_the_server_said_last(signed_in, here, site):
    a_notice(site, here[1], last_fault="550 5.1.1 no such user here, ask elsewhere")
    a_notice(site, here[1], dropped="tried for 7 days", last_fault="452 4.2.2 mailbox full")

    reasons = [one.reason for one in page(signed_in, site).context["unsent"]]

    assert reasons == [
        "tried for 7 days: 452 4.2.2 mailbox full",
        "550 5.1.1 no such user here, ask elsewhere",
    ]


def test_what_was_sent_or_dropped_or_is_of_another_site_does_not_stand_there(signed_in, here, site):
    other, stranger = a_site("osprey")
    a_notice(site, here[1], is_dead=False)
    a_notice(site, here[1], is_dead=False, dropped="", sent_at=MORNING)
    a_notice(other, stranger)
    a_digest(stranger)
    a_checkpoint_mail(other, stranger)

    assert page(signed_in, site).context["unsent"] == []
    assert "There is none." in page(signed_in, site).text


def test_one_mail_is_tried_again(signed_in, here, site):
    chosen, other = a_notice(site, here[1]), a_notice(site, here[1])

    said = again(signed_in, site, f"notice-{chosen.pk}").text
    twice = again(signed_in, site, f"notice-{chosen.pk}").text

    chosen.refresh_from_db()
    assert (chosen.attempts, chosen.is_dead, chosen.dropped) == (0, False, "")
    assert Notice.objects.get(pk=other.pk).is_dead
    assert "1 mail waits for the next sweep" in said
    assert "That mail waits already, or is over." in twice


def test_all_mails_of_the_site_are_tried_again(signed_in, here, site):
    other, stranger = a_site("osprey")
    kept = a_notice(other, stranger)
    a_notice(site, here[1])
    a_digest(here[1])
    a_checkpoint_mail(*here)

    said = again(signed_in, site, "all").text

    assert "3 mails wait for the next sweep" in said
    for model in (Notice, Digest, CheckpointMail):
        assert set(model.objects.filter(is_dead=True)) == ({kept} if model is Notice else set())


@pytest.mark.parametrize(
    "mail", ["", "notice", "notice-", "notice-x", "notice-²", "cart-1", f"notice-{'9' * 30}"]
)
def test_a_name_that_is_none_moves_nothing(mail, signed_in, here, site):
    a_notice(site, here[1])

    assert "That mail waits already" in again(signed_in, site, mail).text
    assert Notice.objects.get().is_dead


def test_a_mail_of_another_site_is_not_tried_again(signed_in, site):
    row = a_notice(*a_site("osprey"))

    again(signed_in, site, f"notice-{row.pk}")

    assert Notice.objects.get().is_dead


def test_one_that_went_out_meanwhile_is_left_alone(here, site):
    a_notice(site, here[1], sent_at=MORNING)

    assert try_again(Notice.objects.all(), at=MORNING) == 0


def test_what_it_may_have_cost_stays_told(here, site):
    row = a_notice(site, here[1], doubtful=2, last_fault="timed out", sending_at=MORNING)

    try_again(Notice.objects.all(), at=MORNING)

    row.refresh_from_db()
    assert (row.doubtful, row.last_fault, row.sending_at) == (2, "timed out", MORNING)


def test_doubtful_mails_of_the_last_30_days_are_counted(signed_in, here, site, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: MORNING + DAY)
    sent = {"is_dead": False, "dropped": "", "sent_at": MORNING, "doubtful": 1}
    a_notice(site, here[1], **sent)
    a_notice(site, here[1], **sent | {"made_at": MORNING - 30 * DAY})
    a_notice(site, here[1], **sent | {"doubtful": 0})
    a_digest(here[1], **sent)
    a_checkpoint_mail(*here, **sent)
    a_notice(*a_site("osprey"), **sent)

    assert page(signed_in, site).context["doubtful"] == 3


def test_the_board_says_how_many_there_are_and_nothing_for_none(signed_in, here, site):
    board = reverse("board", args=[site.slug])
    assert "Mails not sent" not in signed_in.get(board).text

    a_notice(site, here[1])
    a_digest(here[1])

    text = unescape(signed_in.get(board).text)
    assert (
        f'<dt>Mails not sent</dt><dd><a href="{reverse("mails", args=[site.slug])}">2</a>' in text
    )


def test_the_page_asks_as_often_for_three_mails_as_for_one(signed_in, here, site):
    a_notice(site, here[1])
    with CaptureQueriesContext(connection) as one:
        page(signed_in, site)
    for person in (with_role(*here), MembershipFactory(site=site, role=Role.DESK).person):
        a_notice(site, person)

    with CaptureQueriesContext(connection) as three:
        assert len(page(signed_in, site).context["unsent"]) == 3
    assert len(three) == len(one)


def test_an_old_notice_that_is_tried_again_is_not_given_up_on_unsent(here, site):
    row = a_notice(site, here[1], at_once=True, made_at=MORNING - 8 * DAY)

    try_again(Notice.objects.all(), at=MORNING)
    sweep(MORNING)

    row.refresh_from_db()
    assert (row.is_dead, row.dropped) == (False, "over before it was mailed")
