"""A person's calendar: who has one, what is in it, and that its secret is one."""

import logging
import re
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from zoneinfo import available_timezones

import icalendar
import pytest
from django.test import Client
from django.urls import reverse

from fleet.actions import calendars
from fleet.actions.calendars import begin_fetch, make_feed, tell, withdraw_feed
from fleet.calendar import events_of
from fleet.calendar_text import Edition, Event, written
from fleet.models import CalendarEvent, CalendarFeed, Cart, Recheck
from shared import clock
from shared.models import Membership, Role, Site
from shared.viewer import Viewer
from tests.at_once import at_once
from tests.factories import (
    MORNING,
    CartFactory,
    MembershipFactory,
    PersonFactory,
    RecheckFactory,
    SiteFactory,
)

MINUTE, DAY = timedelta(minutes=1), timedelta(days=1)
TODAY = date(2026, 3, 2)


@pytest.fixture
def now(monkeypatch):
    """The clock's moment, to be set forward."""
    moments = [MORNING]
    monkeypatch.setattr(clock, "now", lambda: moments[-1])
    return moments


@pytest.fixture
def mia(db):
    """A mechanic at a site in New York, where it is the morning of TODAY."""
    return MembershipFactory(role=Role.MECHANIC, site__slug="north", site__name="North").person


@pytest.fixture
def site(mia):
    return mia.memberships.get().site


def due(site, day=TODAY, number="7", **values):
    cart = CartFactory(site=site, number=number)
    return RecheckFactory(cart=cart, opens_on=day - 5 * DAY, due_on=day, **values)


def fetch(secret, **headers):
    return Client().get(reverse("calendar-feed", args=[secret]), headers=headers)


def events_in(response):
    assert response.status_code == 200
    return icalendar.Calendar.from_ical(response.content).events


def said(response):
    return sorted(str(event["summary"]) for event in events_in(response))


def test_a_calendar_holds_a_recheck_on_its_due_day(mia, site, now):
    recheck = due(site, TODAY + DAY)

    response = fetch(make_feed(mia, at=MORNING))

    (event,) = events_in(response)
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    assert event["uid"] == f"{recheck.pk}@127.0.0.1"
    assert event.decoded("dtstart") == TODAY + DAY
    assert event["summary"] == "Cart 7: Joint round"
    assert event["url"] == f"http://127.0.0.1:8000/north/carts/{recheck.cart_id}/"
    assert event["sequence"] == 0
    assert event.decoded("dtstamp") == MORNING
    assert mia.name not in response.text


def test_what_is_late_or_stopped_stays_on_its_day_and_says_so(mia, site, now):
    due(site, TODAY, "1", late_on=TODAY + 3 * DAY)
    due(site, TODAY - 9 * DAY, "2", late_on=TODAY)
    due(site, TODAY - 30 * DAY, "3", late_on=TODAY - 20 * DAY, stops_on=TODAY)

    events = events_in(fetch(make_feed(mia, at=MORNING)))

    assert [(str(one["summary"]), one.decoded("dtstart")) for one in events] == [
        ("Cart 3: Joint round (stopped)", TODAY - 30 * DAY),
        ("Cart 2: Joint round (late)", TODAY - 9 * DAY),
        ("Cart 1: Joint round", TODAY),
    ]


def test_a_calendar_holds_what_may_be_reminded_of_up_to_90_days_ahead(mia, site, now):
    due(site, TODAY + 90 * DAY, "last day")
    due(site, TODAY + 91 * DAY, "too far")
    due(site, TODAY, "closed", ended=Recheck.Ended.CLOSED)
    due(SiteFactory(), TODAY, "elsewhere")
    for number, state in (
        ("tagged", {"is_tagged": True}),
        ("laid up", {"condition": Cart.Condition.LAID_UP}),
        ("left", {"condition": Cart.Condition.LEFT}),
    ):
        RecheckFactory(cart=CartFactory(site=site, number=number, **state), due_on=TODAY)
    RecheckFactory(cart=CartFactory(site=site, number="no day"), due_on=None)

    assert said(fetch(make_feed(mia, at=MORNING))) == ["Cart last day: Joint round"]


@pytest.mark.django_db
@pytest.mark.parametrize("role", [Role.DESK, Role.SURVEYOR])
def test_who_is_told_of_no_work_has_no_calendar(role, client, now):
    row = MembershipFactory(role=role, to_day=TODAY + DAY)
    due(row.site)
    client.force_login(row.person)

    assert "you have no such role today" in client.get(reverse("calendar")).text
    client.post(reverse("calendar-make"))
    assert not CalendarFeed.objects.exists()
    assert fetch(make_feed(row.person, at=MORNING)).status_code == 404


def test_a_calendar_of_two_sites_holds_those_where_the_role_is_told(mia, site, now):
    due(site, number="1")
    due(MembershipFactory(person=mia, role=Role.MANAGER, site__name="East").site, number="2")
    due(MembershipFactory(person=mia, role=Role.DESK).site, number="3")

    response = fetch(make_feed(mia, at=MORNING))

    assert said(response) == ["Cart 1: Joint round", "Cart 2: Joint round"]
    assert b"NAME:Rechecks at North\\, East" in response.content


def test_the_secret_is_shown_once_and_kept_as_a_hash_alone(client, mia, now):
    client.force_login(mia)

    made = client.post(reverse("calendar-make"))

    (secret,) = re.findall(r"http://127\.0\.0\.1:8000/calendar/([\w-]+)\.ics", made.text)
    # 256 bit in base64: 43 letters
    assert len(secret) == 43
    assert made["Cache-Control"] == "private, no-store"
    feed = CalendarFeed.objects.get(person=mia)
    assert feed.secret_hash == sha256(secret.encode()).hexdigest()
    again = client.get(reverse("calendar"))
    assert secret not in again.text
    assert "never yet" in again.text
    fetch(secret)
    assert "03/02/2026 08:00" in client.get(reverse("calendar")).text


def test_a_new_address_ends_the_old_one_and_withdrawing_ends_all(client, mia, now):
    client.force_login(mia)
    first, second = make_feed(mia, at=MORNING), make_feed(mia, at=MORNING)

    assert first != second
    assert fetch(first).status_code == 404
    assert fetch(second).status_code == 200
    now.append(MORNING + MINUTE)
    client.post(reverse("calendar-withdraw"))
    assert fetch(second).status_code == 404
    assert withdraw_feed(mia) is False


def headers_of(response):
    own = {"X-Request-Id"}
    return tuple(sorted(pair for pair in response.items() if pair[0].title() not in own))


def test_every_dead_address_answers_the_same(mia, site, now):
    withdrawn = make_feed(mia, at=MORNING)
    withdraw_feed(mia)
    ended = MembershipFactory(to_day=TODAY - DAY).person
    out = MembershipFactory(person__is_active=False).person
    secrets = [withdrawn, "x", make_feed(ended, at=MORNING), make_feed(out, at=MORNING)]

    answers = [fetch(secret) for secret in secrets]

    assert [one.status_code for one in answers] == [404] * 4
    assert len({(one.content, headers_of(one)) for one in answers}) == 1
    assert not CalendarFeed.objects.exclude(fetched_at=None).exists()


def test_a_withdrawn_address_costs_as_many_queries_as_one_never_made(
    mia, now, django_assert_num_queries
):
    withdrawn = make_feed(mia, at=MORNING)
    withdraw_feed(mia)

    for secret in (withdrawn, "never-made"):
        with django_assert_num_queries(1):
            fetch(secret)


def test_a_calendar_dies_with_its_role_and_account(mia, site, now):
    secret = make_feed(mia, at=MORNING)

    Membership.objects.filter(person=mia).update(to_day=TODAY)
    assert fetch(secret).status_code == 200
    now.append(MORNING + DAY)
    assert fetch(secret).status_code == 404
    Membership.objects.filter(person=mia).update(to_day=None)
    mia.is_active = False
    mia.save()
    assert fetch(secret).status_code == 404


def test_a_calendar_is_made_once_a_minute_at_most(mia, site, now):
    secret = make_feed(mia, at=MORNING)

    first = fetch(secret)
    now.append(MORNING + timedelta(seconds=59))
    second = fetch(secret)
    now.append(MORNING + MINUTE)
    third = fetch(secret)

    assert [one.status_code for one in (first, second, third)] == [200, 429, 200]
    assert second["Retry-After"] == "60"
    assert first["Cache-Control"] == "private, max-age=60"


def test_a_fetch_noted_by_a_clock_set_back_since_bars_nothing(mia, now):
    secret = make_feed(mia, at=MORNING)
    assert fetch(secret).status_code == 200

    now.append(MORNING - 365 * DAY)
    Membership.objects.filter(person=mia).update(from_day=date(2020, 1, 1))

    assert fetch(secret).status_code == 200


def test_an_unchanged_calendar_is_not_sent_again(mia, site, now):
    secret, recheck = make_feed(mia, at=MORNING), due(site)
    etag = fetch(secret)["ETag"]

    now.append(MORNING + MINUTE)
    same = fetch(secret, **{"If-None-Match": etag})
    Recheck.objects.filter(pk=recheck.pk).update(due_on=TODAY + DAY)
    now.append(MORNING + 2 * MINUTE)
    moved = fetch(secret, **{"If-None-Match": etag})

    assert (same.status_code, same.content) == (304, b"")
    assert (moved.status_code, moved["ETag"] != etag) == (200, True)


def test_a_sequence_counts_what_changed_of_what_is_shown(mia, site, now):
    secret, recheck = make_feed(mia, at=MORNING), due(site)
    quiet = due(site, number="8")

    def fetched(after, **change):
        Recheck.objects.filter(pk=recheck.pk).update(**change) if change else None
        now.append(MORNING + after * MINUTE)
        told = {str(one["uid"]).split("@")[0]: one for one in events_in(fetch(secret))}
        moved, still = told[str(recheck.pk)], told[str(quiet.pk)]
        assert (still["sequence"], still.decoded("last-modified")) == (0, MORNING)
        return moved["sequence"], moved.decoded("last-modified")

    assert fetched(0) == (0, MORNING)
    assert fetched(1) == (0, MORNING)
    assert fetched(2, due_on=TODAY + DAY) == (1, MORNING + 2 * MINUTE)
    # minutes of work are not shown
    assert fetched(3, minutes=99) == (1, MORNING + 2 * MINUTE)
    assert fetched(4, due_on=TODAY) == (2, MORNING + 4 * MINUTE)


def test_a_fetch_that_changes_nothing_writes_when_it_was_and_nothing_else(
    mia, site, now, django_assert_num_queries
):
    secret = make_feed(mia, at=MORNING)
    for number in range(3):
        due(site, number=str(number))
    fetch(secret)
    now.append(MORNING + MINUTE)

    # feed, roles, note, rechecks, events
    with django_assert_num_queries(5) as asked:
        fetch(secret)

    writes = [one["sql"] for one in asked if not one["sql"].startswith("SELECT")]
    assert [sql.split()[:2] for sql in writes] == [["UPDATE", '"fleet_calendarfeed"']]


def test_nothing_of_a_secret_is_logged(mia, site, now, caplog):
    secret = make_feed(mia, at=MORNING)
    caplog.set_level(logging.DEBUG)

    assert [fetch(one).status_code for one in (secret, secret, f"{secret}x")] == [200, 429, 404]

    assert secret not in caplog.text


def test_a_feed_needs_no_sign_in_and_sets_no_cookie(mia, site, now):
    response = fetch(make_feed(mia, at=MORNING))

    assert response.status_code == 200
    assert not response.cookies


@pytest.mark.django_db
def test_in_every_zone_the_day_is_that_of_the_recheck():
    mia, day = PersonFactory(), date(2026, 3, 8)
    # between them it is three days somewhere
    moments = [datetime(2026, 3, 8, hour, 30, tzinfo=UTC) for hour in (0, 11)]
    zones = sorted(available_timezones())
    sites = [SiteFactory.build(slug=f"s{n}", zone=zone) for n, zone in enumerate(zones)]
    carts = [CartFactory.build(site=site) for site in sites]
    Site.objects.bulk_create(sites)
    Membership.objects.bulk_create([MembershipFactory.build(site=one, person=mia) for one in sites])
    Cart.objects.bulk_create(carts)
    Recheck.objects.bulk_create([RecheckFactory.build(cart=one, due_on=day) for one in carts])

    for at in moments:
        told = [(one, Edition(0, at)) for one in events_of(Viewer(mia, at))]
        text = written("All zones", "fleet.example", told)

        found = {str(one["uid"]): one for one in icalendar.Calendar.from_ical(text).events}
        assert len(found) == len(zones) >= 590
        assert {one.decoded("dtstart") for one in found.values()} == {day}
        assert {one.decoded("dtend") for one in found.values()} == {day + DAY}


def an_event(recheck, day):
    return Event(recheck, day, "Cart 7: First check", "http://x/", True)


@pytest.mark.django_db(transaction=True)
@pytest.mark.services
def test_fetches_at_once_count_a_change_once(postgres):
    ids = [one.pk for one in RecheckFactory.build_batch(40)]
    for turn in range(6):
        events = [an_event(pk, TODAY + turn * DAY) for pk in ids]
        answers = at_once(*[lambda told=events: tell(told, at=MORNING)] * 4)

        told = [{pk: row.sequence for pk, row in answer.items()} for answer in answers]
        assert told == [dict.fromkeys(ids, turn)] * 4
    assert CalendarEvent.objects.count() == 40


@pytest.mark.django_db(transaction=True)
@pytest.mark.services
def test_of_fetches_at_once_one_is_let_through(mia, postgres):
    make_feed(mia, at=MORNING)
    feed = CalendarFeed.objects.get()

    answers = at_once(*[lambda: begin_fetch(feed, at=MORNING)] * 6)

    assert sorted(answers) == [False] * 5 + [True]


def test_an_event_is_not_stamped_earlier_than_before(mia):
    pk = RecheckFactory.build().pk
    tell([an_event(pk, TODAY)], at=MORNING)

    row = tell([an_event(pk, TODAY + DAY)], at=MORNING - DAY)[pk]

    assert (row.sequence, row.changed_at) == (1, MORNING)


def test_batches_hold_all(mia, monkeypatch):
    monkeypatch.setattr(calendars, "BATCH_ROWS", 3)
    ids = [RecheckFactory.build().pk for _ in range(10)]

    for turn in range(2):
        rows = tell([an_event(pk, TODAY + turn * DAY) for pk in ids], at=MORNING)
        assert {pk: row.sequence for pk, row in rows.items()} == dict.fromkeys(ids, turn)
