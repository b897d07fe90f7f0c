"""A past day or moment as people write it, in the site's time."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from fleet.actions import sites
from fleet.kinds import Cut
from fleet.moments import NotAMoment, cut_of, moment_of
from tests.lift_factories import a_site

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 12, 1, 15, 0, tzinfo=UTC)
FOUNDED = datetime(2026, 1, 1, 12, 0, tzinfo=UTC)
CHANGED = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)


@pytest.fixture
def site():
    return a_site(at=FOUNDED)[0]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("2026-03-05", "2026-03-06T04:59:59.999999"),
        ("2026-03-05T14:05", "2026-03-05T19:05"),
        (" 2026-03-05 14:05 ", "2026-03-05T19:05"),
        ("2026-03-05T14:05:30.25", "2026-03-05T19:05:30.250000"),
        ("2026-03-05T14:05-05:00", "2026-03-05T19:05"),
        ("2026-03-05T14:05+09:00", "2026-03-05T05:05"),
        ("2026-03-05T14:05Z", "2026-03-05T14:05"),
        # the clocks of New York went forward on 8 March and back on 1 November 2026
        ("2026-03-08T01:59", "2026-03-08T06:59"),
        ("2026-03-08T03:00", "2026-03-08T07:00"),
        ("2026-11-01T01:30-04:00", "2026-11-01T05:30"),
        ("2026-11-01T01:30-05:00", "2026-11-01T06:30"),
        ("2026-11-01", "2026-11-02T04:59:59.999999"),
        # today is this moment
        ("2026-12-01", "2026-12-01T15:00"),
        ("2026-12-01T10:00", "2026-12-01T15:00"),
    ],
)
def test_a_moment_is_read_in_the_sites_time(site, written, meant):
    assert moment_of(written, site, at=NOW) == datetime.fromisoformat(meant + "+00:00")


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("5 March", "5 March is neither a day like 2026-03-31 nor a moment"),
        ("2026-02-30", "2026-02-30 is neither a day"),
        ("2026-03-05T24:05", "2026-03-05T24:05 is neither a day"),
        ("20260305", "20260305 is neither a day"),
        ("2026-03-05T14:05 05:00", "is neither a day"),
        ("9999-12-31", "9999-12-31 is neither a day"),
        ("0001-01-01T00:00+14:00", "is neither a day"),
        ("2026-12-02", "2026-12-02 is not over yet"),
        ("2026-12-01T10:01", "2026-12-01T10:01 is not over yet"),
        ("2026-03-08T02:30", "The clocks skipped 02:30 that day."),
        (
            "2026-11-01T01:30",
            "01:30 came twice that day: write it with its offset, UTC-04:00 or UTC-05:00.",
        ),
    ],
)
def test_what_is_no_past_moment_is_named(site, written, said):
    with pytest.raises(NotAMoment, match=re.escape(said)):
        moment_of(written, site, at=NOW)


def test_a_time_that_came_twice_offers_both(site):
    with pytest.raises(NotAMoment) as found:
        moment_of("2026-11-01T01:30", site, at=NOW)

    first, second = (local.astimezone(UTC) for local in found.value.choices)
    assert (first.hour, second - first) == (5, timedelta(hours=1))


def test_a_local_time_is_of_the_zone_the_site_had_then(site):
    asked = ("2026-03-05", "2026-03-05T14:05", "2026-05-31T23:00")
    before = [moment_of(one, site, at=CHANGED) for one in asked]
    manager = site.memberships.get().person

    sites.change_site(site, {"zone": "Pacific/Auckland"}, by=manager, at=CHANGED)

    site.refresh_from_db()
    assert [moment_of(one, site, at=NOW) for one in asked] == before
    after = moment_of("2026-06-05T14:05", site, at=NOW)
    assert after == datetime(2026, 6, 5, 2, 5, tzinfo=UTC)


def test_two_times_where_one_is_left_out():
    early, late = NOW - timedelta(days=2), NOW - timedelta(days=1)

    assert cut_of(early, None, at=NOW) == Cut(early, NOW)
    assert cut_of(None, late, at=NOW) == Cut(late, late)
    assert cut_of(None, None, at=NOW) == Cut(NOW, NOW)
    assert cut_of(early, late, at=NOW) == Cut(early, late)
