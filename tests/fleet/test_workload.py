"""Work counted by the week, and the minutes on hand for it."""

import pytest

from fleet.workload import load_of, minutes_on_hand, weeks_of
from shared import clock
from tests.factories import MembershipFactory, SiteFactory
from tests.fleet.board_rows import NOW, TODAY, recheck, viewer_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return SiteFactory(slug="harbour")


@pytest.fixture
def manager(site, client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    person = MembershipFactory(site=site).person
    client.force_login(person)
    return person


def test_work_is_counted_by_the_week_in_which_it_falls_due(site, manager):
    recheck(site, -30, -20, -1, minutes=50)
    recheck(site, -30, 0, minutes=20)
    recheck(site, 0, 6, minutes=10)
    recheck(site, 20, 30, minutes=30)
    recheck(site, 20, 90, minutes=7)

    load = load_of(viewer_of(manager), site, TODAY)

    weeks = {week.name: week.counts for week in weeks_of(load, site) if week.total}
    assert weeks == {
        "before": {"late": 1},
        "Mon Mar 30": {"due": 1, "open": 1},
        "Mon Apr 27": {"ahead": 1},
    }
    assert [load.minutes_by(days) for days in (0, 7, 28)] == [70, 80, 80]


def test_minutes_on_hand_leave_out_closures_and_days_off():
    site = SiteFactory.build(
        working_days="12345", closures=["2026-04-03"], mechanic_minutes_a_day=300
    )

    assert [minutes_on_hand(site, TODAY, days) for days in (0, 7)] == [300, 5 * 300]
