"""A wrench that comes into doubt is told at once, once to a person."""

from datetime import timedelta

import pytest

from fleet.actions.reminders import sweep
from fleet.models import Notice
from lifts.actions.wrenches import add_event, strike_of_wrench
from lifts.models import WrenchEvent
from shared.models import Role
from tests.factories import MORNING
from tests.lift_factories import a_site, with_role
from tests.wrench_factories import DAY, a_certificate, a_good_wrench, a_quick_check

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)
DROPPED_AT = MORNING + DAY
What = WrenchEvent.What


@pytest.fixture
def place():
    return a_site(digest_hour=23)


@pytest.fixture
def mechanic(site, manager):
    for role in (Role.DESK, Role.SURVEYOR):
        with_role(site, manager, role)
    return with_role(site, manager, Role.MECHANIC)


@pytest.fixture
def wrench(site, manager):
    return a_good_wrench(site, manager)


def dropped(wrench, by, at=DROPPED_AT, **more):
    return add_event(wrench, What.DROPPED, by=by, at=at, **more)


def test_a_drop_is_told_to_managers_and_mechanics_once(wrench, manager, mechanic, mailoutbox):
    other, its_manager = a_site("hills", digest_hour=23)
    a_good_wrench(other, its_manager)
    dropped(wrench, mechanic)

    for minutes in range(3):
        sweep(DROPPED_AT + minutes * MINUTE)

    assert sorted(mail.to[0] for mail in mailoutbox) == sorted([manager.email, mechanic.email])
    assert {mail.subject for mail in mailoutbox} == {"Doubted: wrench TW-1 at Harbour"}
    body = mailoutbox[0].body
    assert "Wrench TW-1: dropped on 03/03/2026: doubted until a new certificate.\n" in body
    assert f"/harbour/wrenches/{wrench.pk}/" in body
    assert mailoutbox[0].alternatives[0][0].count(f"/harbour/wrenches/{wrench.pk}/") == 1


def test_a_second_drop_of_a_doubted_wrench_tells_nothing_new(wrench, mechanic, mailoutbox):
    dropped(wrench, mechanic)
    sweep(DROPPED_AT)
    dropped(wrench, mechanic, DROPPED_AT + MINUTE)

    assert sweep(DROPPED_AT + 2 * MINUTE).noticed == 0


def test_a_doubt_after_a_new_certificate_is_told_again(wrench, manager, mechanic, mailoutbox):
    dropped(wrench, mechanic)
    sweep(DROPPED_AT)
    a_certificate(wrench, manager, DROPPED_AT + DAY)
    a_quick_check(wrench, mechanic, DROPPED_AT + 2 * DAY, read="40")

    sweep(DROPPED_AT + 2 * DAY)

    doubted = [mail for mail in mailoutbox if mail.subject.startswith("Doubted")]
    assert len(doubted) == 4
    assert "failed the quick check of 03/05/2026" in doubted[-1].body


def test_a_drop_told_days_later_is_told_at_once_all_the_same(wrench, mechanic, mailoutbox):
    dropped(wrench, mechanic, DROPPED_AT + 20 * DAY, done_at=DROPPED_AT)

    assert sweep(DROPPED_AT + 20 * DAY).at_once == {"sent": 2}


@pytest.mark.parametrize(("days", "noticed"), [(6, 2), (7, 0)])
def test_a_doubt_of_long_ago_tells_nothing(wrench, mechanic, days, noticed):
    dropped(wrench, mechanic)

    assert sweep(DROPPED_AT + days * DAY).noticed == noticed


def test_news_of_a_wrench_doubted_long_ago_tells_nothing(wrench, mechanic):
    dropped(wrench, mechanic)
    a_quick_check(wrench, mechanic, DROPPED_AT + 8 * DAY)

    assert sweep(DROPPED_AT + 8 * DAY).noticed == 0


def test_a_drop_taken_back_while_the_mail_waits_is_not_told(
    wrench, manager, mechanic, settings, mailoutbox
):
    event = dropped(wrench, mechanic)
    working = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "tests.fleet.test_reminders_sending.Down"
    assert sweep(DROPPED_AT).noticed == 2

    settings.EMAIL_BACKEND = working
    strike_of_wrench(event, reason="TW-2 it was", by=manager, at=DROPPED_AT + MINUTE)
    swept = sweep(DROPPED_AT + 2 * MINUTE)

    assert (swept.at_once, mailoutbox) == ({"dropped": 2}, [])
    assert set(Notice.objects.values_list("dropped", flat=True)) == {"over before it was mailed"}


def test_a_withdrawn_wrench_and_one_that_is_only_due_tell_nothing(
    site, wrench, manager, mechanic, mailoutbox
):
    dropped(wrench, mechanic)
    add_event(wrench, What.WITHDRAWN, by=manager, at=DROPPED_AT)
    found_out = a_good_wrench(site, manager, DROPPED_AT, name="TW-2")
    a_certificate(found_out, manager, DROPPED_AT, found="-0.14")

    assert sweep(DROPPED_AT + MINUTE).noticed == 0
