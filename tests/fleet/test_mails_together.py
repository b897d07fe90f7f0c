"""How much goes in one mail when much is owed to a person at once."""

from datetime import timedelta
from types import SimpleNamespace
from uuid import uuid4

import pytest

from fleet.actions import claims, notices
from fleet.models import Notice
from fleet.post import NotWanted
from fleet.reminding import Stage, site_days
from shared.models import Person
from tests.fleet.test_reminders_sending import DAY, MORNING, fleet_with_people

pytestmark = pytest.mark.django_db

AT = MORNING + timedelta(hours=1)


def stopped(count):
    site = fleet_with_people("ann@example.org")
    about = {"site": site, "person": Person.objects.get(), "stage": Stage.ABOVE, "day": DAY}
    owed = about | {"made_at": AT, "at_once": True}
    return Notice.objects.bulk_create(Notice(about=uuid4(), **owed) for _ in range(count))


def test_more_rows_are_settled_than_sqlite_takes_terms():
    assert claims.settle(stopped(1001), sent_at=AT)


def test_rows_whose_mail_is_taken_back_are_not_counted_as_sent():
    first, second = stopped(2)
    lost = claims.claim(Notice, second.pk, at=AT)
    post = SimpleNamespace(
        has_time=lambda: True, send=lambda message, tries, before_data: before_data()
    )

    def act(held, post, *, at):
        """Mail two rows, of which one was lost to another worker meanwhile."""
        claims.send([*held, replaced(lost)], "a mail", post, at=at)

    claims.send_each(Notice.objects.filter(pk=first.pk), act, post, at=AT)

    first.refresh_from_db()
    assert (first.sending_at, first.claimed_at, first.attempts) == (None, None, 0)
    claims.claim(Notice, first.pk, at=AT)
    first.refresh_from_db()
    assert (first.doubtful, first.deaths) == (0, 0)


def test_the_text_begins_for_all_rows_or_for_none():
    first, second = [claims.claim(Notice, row.pk, at=AT) for row in stopped(2)]

    with pytest.raises(NotWanted):
        claims._begin_text([first, replaced(second)], AT)

    assert set(Notice.objects.values_list("sending_at", flat=True)) == {None}


def replaced(row):
    """Return a row as its worker has it, whose claim another one has taken since."""
    Notice.objects.filter(pk=row.pk).update(attempts=row.attempts + 1)
    return row


def test_what_goes_in_one_mail_is_bounded(monkeypatch):
    monkeypatch.setattr(notices, "MOST_TOGETHER", 3)
    first, *_others = stopped(8)

    assert len(notices._others(first, site_days(AT), AT)) == 2
