"""Notices at any size: exactly those owed, a constant number of statements, none twice."""

from datetime import UTC, date, datetime, timedelta
from itertools import product

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import crossed
from fleet.actions import claims, news, notice_rows, notices
from fleet.actions.register import join_cart
from fleet.actions.sites import found_site
from fleet.actions.tags import tag_cart
from fleet.models import Notice, ReminderChoice
from fleet.post import Post
from fleet.reminding import SiteDay, site_days
from shared.models import Role
from tests.at_once import at_once
from tests.factories import MembershipFactory, PersonFactory, RecheckFactory, SiteFactory

TODAY = date(2026, 3, 5)
MORNING = datetime(2026, 3, 5, 11, 0, tzinfo=UTC)
EARLIER = MORNING - timedelta(hours=1)
DATES = ("opens_on", "due_on", "late_on", "stops_on")


@pytest.fixture
def on_postgresql():
    if connection.vendor != "postgresql":
        pytest.skip("locks and plans are PostgreSQL's")


def staffed(**more):
    site = SiteFactory(**more)
    for role, is_above in ((Role.MANAGER, False), (Role.MECHANIC, False), (Role.DESK, True)):
        person = PersonFactory(home_site=site)
        MembershipFactory(site=site, person=person, role=role, is_above=is_above)
    return site


def rechecks_of_every_day(site):
    """Make rechecks whose four dates lie before, within and after the days told of."""
    for days in product((-9, -6, 0, 1), repeat=4):
        if list(days) == sorted(days):
            RecheckFactory(
                site=site,
                cart__site=site,
                **{name: TODAY + timedelta(days=n) for name, n in zip(DATES, days, strict=True)},
            )


def kept():
    return set(Notice.objects.values_list("about", "stage", "day", "person_id"))


@pytest.mark.django_db
def test_the_database_finds_what_the_rule_in_python_finds(on_postgresql):
    site = staffed()
    rechecks_of_every_day(site)
    days = site_days(MORNING)
    owed = {(*lack[:1], *lack[2:]) for lack in crossed.lacks_at(days[site.pk])}

    made = notices.make(days, at=MORNING)

    assert {stage for _about, stage, _day, _person in owed} == {
        "open",
        "due",
        "late",
        "stopped",
        "above",
    }
    assert (kept(), made) == (owed, len(owed))


@pytest.mark.django_db
def test_a_second_look_writes_nothing_and_asks_little(on_postgresql):
    sites = [staffed() for _ in range(3)]
    for site in sites:
        rechecks_of_every_day(site)
    days = site_days(MORNING)
    notices.make(days, at=MORNING)
    before = set(Notice.objects.values_list("pk", flat=True))
    for pk in days:
        news.note(pk, news.unseen(days, at=MORNING)[pk]._replace(is_settled=True))

    with CaptureQueriesContext(connection) as asked:
        lacking = notice_rows.sites_lacking(days)

    assert (lacking, len(asked)) == (set(), 1)
    assert notices.make(days, at=MORNING) == 0
    assert set(Notice.objects.values_list("pk", flat=True)) == before


@pytest.mark.django_db
def test_statements_a_site_are_the_same_for_any_number_of_rechecks(on_postgresql):
    counts = []
    for rechecks in (1, 40):
        site = staffed()
        for _ in range(rechecks):
            RecheckFactory(site=site, cart__site=site, opens_on=TODAY, due_on=TODAY)
        here = {site.pk: site_days(MORNING)[site.pk]}
        with CaptureQueriesContext(connection) as asked:
            assert notices.make(here, at=MORNING) == 2 * rechecks
        counts.append(len(asked))

    assert counts[0] == counts[1] <= 20


@pytest.mark.django_db(transaction=True)
def test_two_at_once_keep_exactly_what_is_owed(on_postgresql):
    sites = [staffed() for _ in range(3)]
    for site in sites:
        rechecks_of_every_day(site)
    days = site_days(MORNING)
    owed = {(*lack[:1], *lack[2:]) for here in days.values() for lack in crossed.lacks_at(here)}

    made = at_once(*[lambda: notices.make(days, at=MORNING)] * 2)

    assert kept() == owed
    assert sum(made) == Notice.objects.count() == len(owed)


@pytest.mark.django_db
def test_a_site_is_looked_at_again_once_a_fact_came():
    by = PersonFactory()
    site = found_site({"slug": "heron", "name": "Heron", "zone": "UTC"}, by, at=EARLIER)
    carts = [join_cart(site, {"number": number}, by=by, at=EARLIER) for number in "12"]
    tag_cart(carts[0], "Loose", by=by, at=EARLIER)
    days = site_days(MORNING)
    notices.make(days, at=MORNING)
    assert news.unseen(days, at=MORNING) == {}

    tag_cart(carts[1], "Loose", by=by, at=EARLIER)

    assert list(news.unseen(days, at=MORNING)) == [site.pk]
    assert notices.make(days, at=MORNING) == 1
    assert news.unseen(days, at=MORNING) == {}


@pytest.mark.django_db
def test_where_nothing_is_new_one_statement_asks_for_any_number_of_sites(on_postgresql):
    counts = []
    for number in (1, 5):
        for more in range(number):
            slug = f"heron-{number}-{more}"
            by = PersonFactory()
            found_site({"slug": slug, "name": slug, "zone": "UTC"}, by, at=EARLIER)
        days = site_days(MORNING)
        notices.make(days, at=MORNING)
        with CaptureQueriesContext(connection) as asked:
            assert notices.make(days, at=MORNING) == 0
        counts.append(len(asked))

    assert counts == [1, 1]


@pytest.mark.django_db
def test_a_recheck_whose_row_was_put_right_is_told_within_the_hour():
    by = PersonFactory()
    site = found_site({"slug": "heron", "name": "Heron", "zone": "UTC"}, by, at=EARLIER)
    notices.make(site_days(MORNING), at=MORNING)
    row = RecheckFactory(site=site, cart__site=site, opens_on=TODAY, due_on=TODAY)
    told_after = [
        minutes
        for minutes in range(5, 65, 5)
        for at in [MORNING + timedelta(minutes=minutes)]
        if notices.make(site_days(at), at=at)
    ]

    assert len(told_after) == 1
    assert set(Notice.objects.values_list("about", flat=True)) == {row.pk}


@pytest.mark.django_db
def test_who_did_without_a_stage_is_told_what_stands_once_it_is_wanted():
    by = PersonFactory()
    site = found_site({"slug": "heron", "name": "Heron", "zone": "UTC"}, by, at=EARLIER)
    mechanic = MembershipFactory(site=site, role=Role.MECHANIC, from_day=TODAY).person
    choice = ReminderChoice.objects.create(person=mechanic, without=["due"])
    RecheckFactory(site=site, cart__site=site, opens_on=TODAY, due_on=TODAY)
    assert notices.make(site_days(MORNING), at=MORNING) == 1

    choice.without = []
    choice.save()

    assert notices.make(site_days(MORNING), at=MORNING) == 1
    assert Notice.objects.filter(person=mechanic).count() == 1


INDEXES = {
    "fleet_notice_pkey",
    "notice_once_a_stage",
    "notice_waiting",
    "notice_at_once",
    "notice_dead",
    "notice_doubtful",
}


@pytest.mark.django_db
def test_notices_have_the_indexes_that_are_asked_by_and_no_more(on_postgresql):
    with connection.cursor() as cursor:
        cursor.execute("SELECT indexname FROM pg_indexes WHERE tablename = 'fleet_notice'")

        assert {name for (name,) in cursor} == INDEXES


@pytest.mark.django_db
@pytest.mark.parametrize("at_once", [True, False])
def test_what_waits_is_found_by_an_index_of_what_waits(on_postgresql, at_once):
    made_before = Notice.objects.filter(made_at__lt=MORNING, at_once=at_once)
    index = "notice_at_once" if at_once else "notice_waiting"

    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL enable_seqscan = off")

    assert index in made_before.filter(claims.WAITING[Notice]).order_by().explain()


@pytest.mark.django_db
def test_quiet_hours_are_asked_of_those_alone_for_whom_something_waits(monkeypatch):
    sites = [staffed() for _ in range(2)]
    asked = []
    monkeypatch.setattr(SiteDay, "is_quiet", lambda here, person, at: asked.append(person.pk))
    days = site_days(MORNING)
    person = days[sites[0].pk].memberships[0].person

    with Post() as post:
        notices.send_at_once(days, post, at=MORNING)
        told = {"stage": "tagged", "day": TODAY, "made_at": MORNING, "at_once": True}
        Notice.objects.create(site=sites[0], person=person, about=person.pk, **told)
        notices.send_at_once(days, post, at=MORNING)

    assert asked == [person.pk]
