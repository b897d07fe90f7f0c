"""Each outage brings its own sign and no other; a quiet day brings none."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.actions.reminders import sweep
from fleet.actions.tags import tag_cart
from fleet.doctor import signs, troubles_first
from fleet.doctor.looks import DATABASE, LOOKS
from fleet.doctor.quiet_hours import of_the_awake
from fleet.models import Digest, Notice
from shared.models import Entry, JournalHead, LastDone
from tests.factories import MembershipFactory, PersonFactory, SiteFactory
from tests.fleet.doctor import outages
from tests.fleet.doctor.outages import OUTAGES
from tests.fleet.doctor.service_yard import AT, DAY, HOUR, MINUTE, What, all_done, done_before

NOT_A_TROUBLE = {"rights"}


def troubles(at=AT):
    return [sign.code for sign in signs(at) if sign.is_trouble]


def test_a_service_in_order_has_no_trouble(yard):
    assert troubles() == []


@pytest.mark.parametrize("outage", OUTAGES, ids=lambda outage: outage.__name__)
def test_an_outage_brings_its_sign_alone(yard, outage, monkeypatch, settings):
    if outage is outages.wal_on_an_old_library and connection.vendor != "sqlite":
        pytest.skip("asks SQLite")

    at = outage(yard, monkeypatch, settings) or AT

    assert troubles(at) == [OUTAGES[outage]]


def test_each_look_has_an_outage_that_it_tells():
    assert set(OUTAGES.values()) == {DATABASE.code, *(look.code for look in LOOKS)} - NOT_A_TROUBLE


def test_each_trouble_says_what_to_do(yard, monkeypatch, settings):
    for outage in (outages.no_sweep, outages.photo_is_gone, outages.redis_is_away):
        outage(yard, monkeypatch, settings)

    found = troubles_first(signs(AT))

    assert [sign.code for sign in found[:3]] == ["sweep", "broker", "photos"]
    assert all(sign.said and sign.todo for sign in found[:3])
    assert not any(sign.todo for sign in found[3:])


def test_a_look_that_fails_is_a_sign_and_stops_no_other(yard, monkeypatch):
    def fail(at):
        raise ZeroDivisionError("nought")

    broken = [vars(look) | {"ask": fail} if look.code == "disk" else vars(look) for look in LOOKS]

    found = {sign.code: sign for sign in signs(AT, [type(LOOKS[0])(**look) for look in broken])}

    assert [code for code, sign in found.items() if sign.is_trouble] == ["disk"]
    assert "ZeroDivisionError: nought" in found["disk"].said
    assert len(found) > 20


def test_a_quiet_day_brings_no_trouble(yard, mailoutbox):
    """Reliability target: 0 false alarms in 24 simulated hours, mails going out meanwhile."""
    begin = datetime(2026, 3, 12, 16, 0, tzinfo=UTC)
    for hour in range(25):
        at = begin + hour * HOUR
        for what in (What.SWEEP, What.SWEEP_BY_BEAT, What.SWEEP_BY_LOOP):
            done_before(what, timedelta(), at)
        if hour % 24 == 11:
            done_before(What.BACKUP, timedelta(), at)
        if hour == 7:
            tag_cart(yard.cart, "Rim bent", by=yard.manager, at=at)
        sweep(at)

        assert (hour, troubles(at + 4 * MINUTE)) == (hour, [])

    assert Digest.objects.count() >= 2
    assert Notice.objects.exists()
    assert mailoutbox


def test_a_notice_that_waits_for_the_morning_is_no_trouble(yard):
    night = datetime(2026, 3, 13, 4, 0, tzinfo=UTC)  # midnight in New York
    yard.a_notice(night - HOUR)
    all_done(night)
    assert troubles(night) == []

    # quiet until 6
    all_done(night + 7 * HOUR)
    assert troubles(night + 7 * HOUR) == ["notices-waiting"]


def test_quiet_hours_go_by_the_site_where_the_home_has_no_clock_to_read(yard):
    yard.mechanic.home_site = SiteFactory(zone="No/Where")
    yard.mechanic.save()
    notice = yard.a_notice(AT)
    night = datetime(2026, 3, 13, 4, 0, tzinfo=UTC)

    found = [of_the_awake([notice], at, within=MINUTE) for at in (night, night + 8 * HOUR)]

    assert found == [[], [notice]]


def test_what_waits_at_a_site_that_is_behind_is_told_as_that_alone(yard):
    yard.a_notice(AT - HOUR)
    JournalHead.objects.update(size=1)

    assert troubles() == ["behind"]


def test_a_tool_that_was_just_put_up_has_no_trouble(db, monkeypatch):
    site = SiteFactory()
    MembershipFactory(site=site, person=PersonFactory(home_site=site))

    assert [code for code in troubles() if code != "commits"] == []


def test_a_sign_names_the_sites_that_it_is_about(yard, monkeypatch, settings):
    outages.journal_is_older(yard, monkeypatch, settings)

    (sign,) = [sign for sign in signs(AT) if sign.is_trouble]

    assert sign.sites == ("harbour",)


def test_a_step_of_the_clock_is_told_for_a_day(yard):
    done_before(What.CLOCK_STEPPED, DAY + MINUTE, by_s=600)

    assert troubles() == []


def test_the_look_writes_nothing(yard, django_assert_max_num_queries):
    with django_assert_max_num_queries(120) as asked:
        signs(AT)

    written = ("INSERT", "UPDATE", "DELETE")
    assert [one["sql"] for one in asked if one["sql"].lstrip().startswith(written)] == []


def test_no_look_reads_all_entries(yard):
    # without a backup the age of the journals is asked for
    LastDone.objects.filter(what=What.BACKUP).delete()

    with CaptureQueriesContext(connection) as asked:
        signs(AT)

    entries = [one["sql"] for one in asked if f'FROM "{Entry._meta.db_table}"' in one["sql"]]
    assert entries
    assert [sql for sql in entries if "WHERE" not in sql] == []
