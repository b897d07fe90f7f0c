"""On Mondays managers hear how the service is, whatever stands."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core import mail

from fleet.actions import digests
from fleet.actions.reminders import sweep
from fleet.doctor import Sign
from fleet.models import Digest
from shared.models import Role
from tests.factories import SiteFactory
from tests.fleet.test_reminders import recheck_at, staff

pytestmark = pytest.mark.django_db

MONDAY = datetime(2026, 3, 9, 10, 0, tzinfo=UTC)  # 06:00 in New York
DAY = timedelta(days=1)


@pytest.fixture
def looked(monkeypatch):
    """Signs of a service with one trouble; and how often they were asked for."""
    asked = []

    def signs(at):
        asked.append(at)
        bad = Sign("backup", "Backup", "none for 9 days", True, "Look at the disk.")
        return [Sign("sweep", "Sweep", "1 minute ago", False, ""), bad]

    monkeypatch.setattr(digests, "signs", signs)
    return asked


def test_a_manager_hears_on_monday_alone_how_the_service_is(looked):
    manager = staff(SiteFactory(), Role.MANAGER)

    for days in range(-1, 7):
        sweep(MONDAY + days * DAY)

    (message,) = mail.outbox
    assert message.to == [manager.email]
    assert message.subject == "Carts: nothing stands, and how the service is"
    assert "Sweep: 1 minute ago\nBackup: none for 9 days\n    Look at the disk.\n" in message.body
    assert (
        "<strong>Backup: none for 9 days</strong> Look at the disk." in message.alternatives[0][0]
    )
    ends = list(Digest.objects.order_by("day").values_list("empty", flat=True))
    assert ends == [True, False, *[True] * 6]


def test_it_stands_last_in_the_mail_of_what_stands_and_is_asked_for_once(looked):
    place = SiteFactory(name="Heron")
    for _ in range(3):
        staff(place, Role.MANAGER)
    recheck_at(place, "due_on", MONDAY.date())

    sweep(MONDAY)

    assert {one.subject for one in mail.outbox} == {"Carts at Heron: 1 due"}
    assert len(mail.outbox) == 3
    assert all(one.body.index("1 due") < one.body.index("Sweep: ") for one in mail.outbox)
    assert looked == [MONDAY]


def test_others_hear_nothing_of_it(looked):
    place = SiteFactory(name="Heron")
    staff(place, Role.MECHANIC)
    staff(place, Role.DESK)
    recheck_at(place, "due_on", MONDAY.date())

    sweep(MONDAY)

    (message,) = mail.outbox
    assert "Sweep: " not in message.body
    assert looked == []


def test_the_real_signs_can_be_mailed():
    staff(SiteFactory(), Role.MANAGER)

    sweep(MONDAY)

    assert "How the service is" in mail.outbox[0].body
