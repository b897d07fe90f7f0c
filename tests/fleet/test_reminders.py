"""Notices of rechecks, and the one mail a day: who gets what, when, once."""

from datetime import UTC, date, datetime, timedelta

import pytest

from fleet.actions.reminders import sweep
from fleet.models import Cart, Digest, Notice
from fleet.reminding import Stage
from shared.models import Role
from tests.factories import (
    CartFactory,
    MembershipFactory,
    PersonFactory,
    RecheckFactory,
    SiteFactory,
)

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 5)
AFTER_MIDNIGHT = datetime(2026, 3, 5, 5, 30, tzinfo=UTC)  # 00:30 in New York
MORNING = datetime(2026, 3, 5, 11, 0, tzinfo=UTC)  # 06:00 in New York
STAGES = {"opens_on": "open", "due_on": "due", "late_on": "late", "stops_on": "stopped"}


def staff(site, role=Role.MECHANIC, **person):
    """Return a new person with a role at the site, which is their home."""
    person = PersonFactory(home_site=site, **person)
    MembershipFactory(site=site, person=person, role=role)
    return person


def recheck_at(site, last="due_on", day=TODAY, **more):
    """Return a recheck of a new cart that reached ``last`` on a day, the earlier dates before."""
    names = list(STAGES)
    dates = {
        name: day - timedelta(days=names.index(last) - place)
        for place, name in enumerate(names[: names.index(last) + 1])
    }
    cart = more.pop("cart", None) or CartFactory(site=site)
    return RecheckFactory(cart=cart, site=site, **{**dates, **more})


def test_sweep_told_by_role_and_stage():
    site = SiteFactory()
    people = {role: staff(site, role) for role in Role}
    rechecks = {stage: recheck_at(site, last) for last, stage in STAGES.items()}

    sweep(AFTER_MIDNIGHT)

    by_id = {recheck.pk: stage for stage, recheck in rechecks.items()}
    told = {role: set() for role in Role}
    for notice in Notice.objects.all():
        role = next(role for role, person in people.items() if person.pk == notice.person_id)
        assert (by_id[notice.about], notice.day) == (notice.stage, TODAY)
        told[role].add(notice.stage)
    assert told == {
        Role.MECHANIC: {"open", "due", "late", "stopped"},
        Role.MANAGER: {"due", "late", "stopped"},
        Role.DESK: set(),
        Role.SURVEYOR: set(),
    }


def test_sweep_again_makes_no_second_notice():
    site = SiteFactory()
    staff(site)
    recheck_at(site, stops_on=TODAY + timedelta(days=2))

    made = [sweep(AFTER_MIDNIGHT + timedelta(days=days)).noticed for days in (0, 0, 1, 2, 2)]

    assert made == [1, 0, 0, 1, 0]
    assert list(Notice.objects.values_list("stage", flat=True)) == ["due", "stopped"]


@pytest.mark.parametrize(
    "cart",
    [
        {"is_tagged": True},
        {"condition": Cart.Condition.LAID_UP},
        {"condition": Cart.Condition.LEFT},
    ],
)
def test_sweep_leaves_carts_at_rest_alone(cart):
    site = SiteFactory()
    staff(site)
    recheck_at(site, "stops_on", cart=CartFactory(site=site, **cart))

    assert sweep(MORNING).noticed == 0


@pytest.mark.parametrize("ended", ["closed", "void"])
def test_sweep_leaves_ended_rechecks_alone(ended):
    site = SiteFactory()
    staff(site)
    recheck_at(site, ended=ended)

    assert sweep(MORNING).noticed == 0


@pytest.mark.parametrize(("days_ago", "noticed"), [(6, 1), (7, 0), (400, 0)])
def test_sweep_makes_no_notice_of_what_began_long_ago(days_ago, noticed, mailoutbox):
    site = SiteFactory()
    staff(site)
    recheck_at(site, "late_on", TODAY - timedelta(days=days_ago))

    assert sweep(MORNING).noticed == noticed
    assert [mail.subject for mail in mailoutbox] == [f"Carts at {site}: 1 late"]


def test_sweep_goes_by_the_day_of_each_site():
    east, west = SiteFactory(), SiteFactory(zone="America/Los_Angeles")
    for site in (east, west):
        staff(site)
        recheck_at(site)

    sweep(AFTER_MIDNIGHT)

    assert [notice.site for notice in Notice.objects.filter(stage=Stage.DUE)] == [east]


def test_sweep_goes_on_past_a_site_with_an_unknown_zone():
    bad, good = SiteFactory(zone="Nowhere/None"), SiteFactory()
    for site in (bad, good):
        staff(site)
        recheck_at(site)

    assert sweep(AFTER_MIDNIGHT).noticed == 1


def test_digest_waits_for_the_morning_and_comes_once(mailoutbox):
    site = SiteFactory(digest_hour=6)
    person = staff(site)
    recheck_at(site)

    for minutes in (-1, 0, 1, 2, 600):
        sweep(MORNING + timedelta(minutes=minutes))

    assert [mail.to for mail in mailoutbox] == [[person.email]]
    assert Digest.objects.get().sent_at == MORNING


def test_digest_lists_what_stands_gravest_first(mailoutbox):
    site = SiteFactory(name="Heron Point")
    staff(site, Role.MECHANIC)
    recheck_at(site, "stops_on", TODAY - timedelta(days=30))
    for _ in range(2):
        recheck_at(site, "late_on")
    for _ in range(5):
        recheck_at(site, "due_on")
    recheck_at(site, "opens_on", due_on=TODAY + timedelta(days=9))
    recheck_at(site, "opens_on", TODAY + timedelta(days=1))

    sweep(MORNING)

    assert [mail.subject for mail in mailoutbox] == [
        "Carts at Heron Point: 1 stopped, 2 late, 5 due, 1 opened"
    ]


def test_digest_says_which_cart_what_and_when_in_text_and_html(mailoutbox, settings):
    settings.FLEET_URL = "https://carts.example.org"
    site = SiteFactory(slug="heron", name="Heron & Co")
    staff(site)
    cart = CartFactory(site=site, number="<42>", hours_shown=30, hours_life=430)
    recheck_at(site, cart=cart, governs="hours", due_hours="427.5", subject="left front wheel")

    sweep(MORNING)

    text, (html, kind) = mailoutbox[0].body, mailoutbox[0].alternatives[0]
    link = f"https://carts.example.org{cart.get_absolute_url()}"
    assert kind == "text/html"
    assert [line.strip() for line in text.splitlines() if line.startswith("    ")] == [
        "due 5 Mar 2026, at 27.5 h, 2.5 h past",
        link,
    ]
    assert "\n<42>  " in text and ": left front wheel\n" in text
    assert "You are mechanic at Heron & Co." in text
    assert f'<td><a href="{link}">&lt;42&gt;</a></td>' in html
    assert "<br>at 27.5 h, 2.5 h past</td><td>due 5 Mar 2026</td>" in html
    assert "You are mechanic at Heron &amp; Co." in html


def test_digest_of_the_desk_has_tags_only(mailoutbox):
    site = SiteFactory()
    staff(site, Role.DESK)
    recheck_at(site, "stops_on")

    swept = sweep(MORNING)

    assert (swept.digests, mailoutbox) == ({"empty": 1}, [])


def test_digest_lists_what_opened_only_once_and_what_is_due_daily(mailoutbox):
    site = SiteFactory()
    staff(site)
    recheck_at(site, "opens_on", due_on=TODAY + timedelta(days=1))

    for days in range(3):
        sweep(MORNING + timedelta(days=days))

    subjects = [mail.subject.partition(": ")[2] for mail in mailoutbox]
    assert subjects == ["1 opened", "1 due", "1 due"]


def test_digest_with_nothing_standing_is_marked_and_not_mailed(mailoutbox):
    site = SiteFactory()
    person = staff(site)
    recheck_at(site, "opens_on", TODAY + timedelta(days=1))

    sweep(MORNING)
    sweep(MORNING + timedelta(minutes=1))

    digest = Digest.objects.get()
    assert (digest.person, digest.day) == (person, TODAY)
    assert (digest.empty, digest.sent_at, mailoutbox) == (True, None, [])


def test_digest_leaves_out_what_was_closed_since(mailoutbox):
    site = SiteFactory()
    staff(site)
    closed, stands = recheck_at(site), recheck_at(site)
    sweep(AFTER_MIDNIGHT)

    closed.ended = "closed"
    closed.save()
    sweep(MORNING)

    assert [mail.subject for mail in mailoutbox] == [f"Carts at {site}: 1 due"]
    ends = dict(Notice.objects.values_list("about", "dropped"))
    assert ends == {closed.pk: "over before the daily mail", stands.pk: ""}
    assert Notice.objects.get(about=stands.pk).sent_at == MORNING


def test_digest_goes_to_nobody_whose_role_has_ended(mailoutbox):
    site = SiteFactory()
    recheck_at(site)
    for day in (TODAY - timedelta(days=1), TODAY):
        person = PersonFactory(home_site=site, name=f"until {day}")
        MembershipFactory(site=site, person=person, to_day=day)
    staff(site, is_active=False)

    sweep(MORNING)

    assert [mail.to for mail in mailoutbox] == [[person.email]]


def test_digest_whose_person_lost_the_role_meanwhile_is_dropped(mailoutbox):
    site = SiteFactory()
    recheck_at(site)
    staff(site)
    former = PersonFactory(home_site=site)
    Digest.objects.create(person=former, day=TODAY, planned_at=MORNING)

    sweep(MORNING)

    assert Digest.objects.get(person=former).dropped == "the person has no role any more"
    assert len(mailoutbox) == 1


def test_digest_comes_at_the_morning_of_the_home_site_for_all_sites(mailoutbox):
    home = SiteFactory(name="Baja", zone="America/Los_Angeles")
    away = SiteFactory(name="Quay")
    person = staff(home, Role.MANAGER)
    MembershipFactory(site=away, person=person, role=Role.MECHANIC)
    recheck_at(home)
    recheck_at(away)
    recheck_at(away, "opens_on")

    sweep(MORNING + timedelta(hours=2, minutes=59))
    assert mailoutbox == []
    sweep(MORNING + timedelta(hours=3))

    assert [mail.subject for mail in mailoutbox] == [
        "Carts at Baja and 1 more site: 2 due, 1 opened"
    ]


def test_digest_comes_at_the_home_site_where_the_person_has_no_role_too(mailoutbox):
    home, away = SiteFactory(zone="America/Los_Angeles"), SiteFactory()
    person = PersonFactory(home_site=home)
    MembershipFactory(site=away, person=person)
    recheck_at(away)

    sweep(MORNING)
    assert mailoutbox == []
    sweep(MORNING + timedelta(hours=3))

    assert len(mailoutbox) == 1


@pytest.mark.parametrize(
    ("zone", "hour", "at"),
    [
        ("America/New_York", 2, "2026-03-08T07:00Z"),  # a day of 23 hours, this one skipped
        ("America/New_York", 1, "2026-11-01T05:00Z"),  # a day of 25 hours, this one twice
        ("America/New_York", 6, "2026-11-01T11:00Z"),
        ("Australia/Lord_Howe", 2, "2026-10-03T15:30Z"),  # half an hour skipped
        ("America/Havana", 0, "2026-03-08T05:00Z"),  # no midnight
        ("UTC", 23, "2026-06-01T23:00Z"),
    ],
)
def test_digest_comes_once_on_days_of_other_lengths(mailoutbox, zone, hour, at):
    at = datetime.fromisoformat(at)
    site = SiteFactory(zone=zone, digest_hour=hour)
    staff(site)
    recheck_at(site, day=at.date() - timedelta(days=30))

    moments = [at + timedelta(hours=step) for step in range(-26, 27)]
    sent = [moment for moment in moments if sweep(moment).digests["sent"]]

    assert [moment for moment in sent if site.day(moment) == site.day(at)] == [at]
    assert len(mailoutbox) == len(sent) == len({site.day(moment) for moment in sent})


def test_digest_that_never_went_out_is_carried_by_the_next(mailoutbox):
    site = SiteFactory()
    person = staff(site)
    recheck_at(site)
    Digest.objects.create(person=person, day=TODAY - timedelta(days=1), planned_at=AFTER_MIDNIGHT)

    sweep(MORNING)

    assert len(mailoutbox) == 1
    ends = list(Digest.objects.order_by("day").values_list("dropped", "sent_at"))
    assert ends == [("the next day's mail took its place", None), ("", MORNING)]


def test_digest_shows_the_first_rows_and_counts_the_rest(mailoutbox):
    site = SiteFactory()
    staff(site)
    cart = CartFactory(site=site)
    for _ in range(43):
        recheck_at(site, cart=cart)

    sweep(MORNING)

    assert mailoutbox[0].subject == f"Carts at {site}: 1 due"
    assert mailoutbox[0].body.count(cart.get_absolute_url()) == 40
    assert "\nand 3 more\n" in mailoutbox[0].body


def test_sweep_costs_the_same_however_many_carts(django_assert_max_num_queries):
    site = SiteFactory()
    staff(site)
    counts = []
    for carts in (1, 5):
        for _ in range(carts):
            recheck_at(site, "stops_on")
        with django_assert_max_num_queries(60) as asked:
            sweep(MORNING + timedelta(days=len(counts)))
        counts.append(len(asked))

    assert counts[0] == counts[1]
