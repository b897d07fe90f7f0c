"""Who stands above is told of stopped carts; what comes together goes together; quiet hours."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.core import mail

from fleet.actions.claims import CLAIM_LAPSES
from fleet.actions.meters import add_reading
from fleet.actions.register import join_cart
from fleet.actions.reminders import sweep
from fleet.actions.tags import hand_back, tag_cart
from fleet.models import Notice, ReminderChoice
from shared.facts import strike
from shared.models import Membership, Role
from tests.factories import MembershipFactory, PersonFactory, SiteFactory
from tests.fleet.at_once.conftest import START
from tests.fleet.test_reminders import recheck_at, staff

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 5)
MIDNIGHT = datetime(2026, 3, 5, 5, 30, tzinfo=UTC)  # 00:30 in New York
SIX = datetime(2026, 3, 5, 11, 0, tzinfo=UTC)
NOON = datetime(2026, 3, 5, 17, 0, tzinfo=UTC)
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)


def above(place, role=Role.DESK):
    """Return a new person above the manager, to whom no other stage is told by their role."""
    person = PersonFactory(home_site=place, email="above@example.org")
    MembershipFactory(site=place, person=person, role=role, is_above=True)
    return person


def subjects_to(person):
    return [message.subject for message in mail.outbox if message.to == [person.email]]


@pytest.mark.parametrize("role", [Role.DESK, Role.SURVEYOR, Role.MECHANIC])
def test_those_above_are_told_the_same_day_in_one_mail(role):
    place = SiteFactory(name="Heron")
    person = above(place, role)
    first, other = (recheck_at(place, "stops_on") for _ in range(2))
    recheck_at(place, "late_on")

    for at in (MIDNIGHT, SIX - MINUTE):
        sweep(at)
    assert mail.outbox == []
    for minutes in range(3):
        sweep(SIX + minutes * MINUTE)

    message = next(one for one in mail.outbox if one.subject.startswith("2 carts"))
    told = [one for one in subjects_to(person) if not one.startswith("Carts at")]
    assert told == ["2 carts stopped at Heron"]
    assert message.body.count("Past its stop limit since 5 Mar 2026: the cart must not run.") == 2
    for recheck in (first, other):
        assert recheck.cart.get_absolute_url() in message.body


def test_a_manager_is_told_above_only_when_above():
    place = SiteFactory(digest_hour=23)
    staff(place, Role.MANAGER)
    recheck_at(place, "stops_on")

    sweep(NOON)

    assert (mail.outbox, Notice.objects.filter(stage="above").count()) == ([], 0)


def test_one_stopped_cart_is_told_above_by_its_number():
    place = SiteFactory(name="Heron", digest_hour=23)
    person = above(place)
    recheck = recheck_at(place, "stops_on")

    sweep(NOON)

    assert subjects_to(person) == [f"Stopped: cart {recheck.cart.number} at Heron"]


def test_a_cart_done_while_the_mail_waited_for_the_morning_is_not_told_above():
    place = SiteFactory()
    person = above(place)
    recheck = recheck_at(place, "stops_on")
    sweep(MIDNIGHT)

    recheck.ended = "closed"
    recheck.save()
    swept = sweep(SIX)

    assert (subjects_to(person), swept.at_once) == ([], {"dropped": 1})


def test_what_may_have_been_sent_together_goes_together_again():
    place = SiteFactory()
    above(place)
    for _ in range(3):
        recheck_at(place, "stops_on")
    sweep(NOON)
    # died after the text was on its way, and another cart stopped since
    Notice.objects.filter(stage="above").update(sent_at=None)
    recheck_at(place, "stops_on")

    sweep(NOON + CLAIM_LAPSES + MINUTE)

    ids = [one.extra_headers["Message-ID"] for one in mail.outbox if "stopped" in one.subject]
    assert len(ids) == 2
    assert ids[0] == ids[1]
    again = Notice.objects.filter(stage="above").values_list("doubtful", flat=True)
    assert sorted(again) == [0, 1, 1, 1]


@pytest.mark.parametrize(("days", "told"), [(6, False), (7, True), (12, True)])
def test_a_cart_that_runs_on_a_week_after_its_stop_is_told_above(stopped, people, days, told):
    manager = people[Role.MANAGER]
    person = above(manager.home_site)
    at = datetime(2026, 3, 3, 17, 0, tzinfo=UTC) + days * DAY
    for later in (timedelta(), 2 * HOUR, DAY):
        hours = Decimal(104) + later // HOUR
        add_reading(stopped, by=people[Role.DESK], at=at + later - HOUR, hours=hours)
        if not told and later == DAY:
            break
        sweep(at + later)

    subject = "Stopped for a week, and its meter still rises: cart 042 at Heron"
    for one in (manager, person):
        assert [said for said in subjects_to(one) if said == subject] == [subject] * told
    assert subject not in subjects_to(people[Role.MECHANIC])
    for message in mail.outbox:
        if message.subject == subject:
            assert "Past its stop limit since 3 Mar 2026: the cart must not run." in message.body
            assert "4 h more than at the reading before" in message.body.replace("4.0 h", "4 h")


def test_a_reading_taken_back_while_its_mail_waits_is_not_told_above(stopped, people):
    person = above(people[Role.MANAGER].home_site)
    night = datetime(2026, 3, 12, 4, 0, tzinfo=UTC)
    reading = add_reading(stopped, by=people[Role.DESK], at=night - HOUR, hours=Decimal(104))
    sweep(night)
    assert Notice.objects.filter(stage="runs on").count() == 2

    strike(reading, reason="another cart", by=people[Role.DESK], at=night + MINUTE)
    sweep(night + 10 * HOUR)

    assert "runs" not in " ".join(subjects_to(person))
    assert set(Notice.objects.filter(stage="runs on").values_list("dropped", flat=True)) == {
        "over before it was mailed"
    }


def join(place, by, number):
    return join_cart(place, {"number": f"1{number:02d}"}, by=by, at=START)


@pytest.mark.parametrize(("count", "mails"), [(5, 5), (6, 1), (45, 1)])
def test_much_at_once_goes_as_one_mail(site, people, count, mails):
    manager = people[Role.MANAGER]
    for number in range(count):
        one = join(site, manager, number)
        tag_cart(one, "Loose", by=manager, at=NOON)

    for minutes in range(2):
        sweep(NOON + minutes * MINUTE)

    assert len(subjects_to(manager)) == mails
    if mails == 1:
        assert subjects_to(manager) == [f"{count} things to know now at Heron"]
        body = next(one.body for one in mail.outbox if one.to == [manager.email])
        assert body.count("Tagged: cart") == min(count, 40)
        assert ("\nand 5 more\n" in body) == (count == 45)
    assert not Notice.objects.filter(sent_at=None).exists()


def test_one_that_spoils_what_goes_together_keeps_no_other_waiting(site, people):
    manager = people[Role.MANAGER]
    for number in range(6):
        tag_cart(join(site, manager, number), "Loose", by=manager, at=NOON)
    spoilt = {"stage": Notice.Stage.TAGGED, "day": TODAY, "made_at": NOON, "at_once": True}
    Notice.objects.create(site=site, person=manager, about=site.pk, cart=None, **spoilt)

    sweep(NOON)
    assert subjects_to(manager) == []
    sweep(NOON + 2 * MINUTE)

    assert len(subjects_to(manager)) == 6
    assert Notice.objects.filter(sent_at=None).get().about == site.pk


def test_what_is_over_is_left_out_of_what_goes_together(site, people):
    manager = people[Role.MANAGER]
    night = NOON + 11 * HOUR
    rows = [tag_cart(join(site, manager, n), "Loose", by=manager, at=night) for n in range(6)]
    sweep(night)
    hand_back(rows[0], done="Tight", repaired_by=None, by=manager, at=night + MINUTE)

    sweep(NOON + DAY)

    (body,) = [one.body for one in mail.outbox if one.to == [manager.email]][-1:]
    assert body.count("Tagged: cart") == 5


@pytest.mark.parametrize(
    ("hours", "first"),
    [(None, 18), ((21, 6), 18), ((0, 0), 12), ((12, 13), 13), ((23, 22), 34)],
)
def test_at_once_waits_for_the_end_of_the_quiet_hours(cart, people, hours, first):
    """Tagged at noon for (23, 22), (12, 13) and (0, 0), at 23:00 for the others."""
    mechanic = people[Role.MECHANIC]
    if hours:
        quiet_from, quiet_until = hours
        ReminderChoice.objects.create(
            person=mechanic, quiet_from=quiet_from, quiet_until=quiet_until
        )
    begins = NOON if first != 18 else NOON + 11 * HOUR
    tag_cart(cart, "Loose", by=people[Role.MANAGER], at=begins)

    sent = []
    for half_hours in range(40):
        at = begins + half_hours * HOUR / 2
        before = len([one for one in subjects_to(mechanic) if one.startswith("Tagged")])
        sweep(at)
        after = len([one for one in subjects_to(mechanic) if one.startswith("Tagged")])
        sent += [at] * (after - before)

    # after noon there is one hour awake for (23, 22): it ends ten hours later
    wanted = {18: NOON + 18 * HOUR, 12: NOON, 13: NOON + HOUR, 34: NOON + 10 * HOUR}[first]
    assert sent == [wanted]


def test_quiet_hours_go_by_the_clock_of_the_home_site(site, cart, people):
    west = SiteFactory(zone="America/Los_Angeles")
    mechanic = people[Role.MECHANIC]
    mechanic.home_site = west
    mechanic.save()
    late = NOON + 10 * HOUR  # 22:00 at the site, 19:00 at home
    tag_cart(cart, "Loose", by=people[Role.MANAGER], at=late)

    sweep(late)

    told = [one.to for one in mail.outbox if one.subject.startswith("Tagged")]
    assert told == [[mechanic.email]]


def without(person, *stages):
    ReminderChoice.objects.create(person=person, without=list(stages))


def test_what_a_person_does_without_is_in_no_mail_of_theirs():
    place = SiteFactory(name="Heron")
    some, other = staff(place), staff(place)
    without(some, "due", "late")
    for last in ("due_on", "late_on", "stops_on"):
        recheck_at(place, last)

    sweep(SIX)

    assert subjects_to(some) == ["Carts at Heron: 1 stopped"]
    assert subjects_to(other) == ["Carts at Heron: 1 stopped, 1 late, 1 due"]
    assert set(Notice.objects.filter(person=some).values_list("stage", flat=True)) == {"stopped"}


def test_a_mechanic_may_do_without_what_a_manager_may_not():
    place = SiteFactory(name="Heron")
    mechanic, manager = staff(place), staff(place, Role.MANAGER)
    for person in (mechanic, manager):
        without(person, "stopped", "tagged", "moving", "runs on", "due")
    for last in ("due_on", "stops_on"):
        recheck_at(place, last)

    sweep(SIX)

    assert subjects_to(mechanic) == []
    assert subjects_to(manager) == ["Carts at Heron: 1 stopped"]


def test_what_a_person_did_without_after_it_was_written_is_not_mailed(cart, people):
    night = NOON + 11 * HOUR
    tag_cart(cart, "Loose", by=people[Role.MANAGER], at=night)
    sweep(night)
    for person in people.values():
        without(person, "tagged")

    sweep(NOON + DAY)

    told = {message.to[0] for message in mail.outbox if message.subject.startswith("Tagged")}
    assert told == {people[Role.MANAGER].email}
    assert set(Notice.objects.exclude(dropped="").values_list("dropped", flat=True)) == {
        "the person is not told of it any more"
    }


def test_at_once_that_could_not_go_for_a_week_is_dead(cart, people, settings):
    tag_cart(cart, "Loose", by=people[Role.MANAGER], at=NOON)
    settings.EMAIL_BACKEND = "tests.fleet.test_reminders_sending.Down"
    for days in range(9):
        sweep(NOON + days * DAY)

    assert set(Notice.objects.values_list("is_dead", flat=True)) == {True}
    assert Membership.objects.filter(role=Role.DESK).exists()
