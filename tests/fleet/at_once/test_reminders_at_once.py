"""What is told at once: a tag, a stopped cart whose meter rises, two rounds at one cart."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from uuid6 import uuid7

from fleet.actions import notices
from fleet.actions.meters import add_reading
from fleet.actions.register import join_cart, lay_up
from fleet.actions.reminders import sweep
from fleet.actions.rounds import TakenDown, save_round
from fleet.actions.sites import give_role
from fleet.actions.tags import hand_back, tag_cart
from fleet.models import Notice, Reading
from fleet.post import Post
from fleet.reminding import site_days
from shared.facts import strike
from shared.models import Role
from tests.fleet.at_once.conftest import START

pytestmark = pytest.mark.django_db

NOON = datetime(2026, 3, 5, 17, 0, tzinfo=UTC)  # at the site; the digest comes at 23:00
MINUTE = timedelta(minutes=1)
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


def told(mailoutbox):
    return sorted((message.to[0].partition("@")[0], message.subject) for message in mailoutbox)


def test_a_tag_is_told_at_once_and_once(cart, people, mailoutbox):
    tag_cart(cart, "Steering joint loose", by=people[Role.MECHANIC], at=NOON)

    for minutes in range(3):
        sweep(NOON + minutes * MINUTE)

    subject = "Tagged: cart 042 at Heron"
    assert told(mailoutbox) == [("desk", subject), ("manager", subject), ("mechanic", subject)]
    assert "Steering joint loose\n" in mailoutbox[0].body
    assert "Tagged by mechanic, 5 Mar 2026, 12:00.\n" in mailoutbox[0].body
    assert f"/heron/carts/{cart.pk}/" in mailoutbox[0].alternatives[0][0]


def test_a_tag_that_was_answered_is_not_told(cart, people, mailoutbox):
    tag = tag_cart(cart, "Loose", by=people[Role.MECHANIC], at=NOON)
    hand_back(tag, done="Tightened", repaired_by=None, by=people[Role.MANAGER], at=NOON + MINUTE)

    assert sweep(NOON + 2 * MINUTE).noticed == 0


def test_a_tag_answered_while_the_mail_waited_is_not_told(cart, people, settings, mailoutbox):
    tag = tag_cart(cart, "Loose", by=people[Role.MECHANIC], at=NOON)
    working = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "tests.fleet.test_reminders_sending.Down"
    assert sweep(NOON + MINUTE).noticed == 3

    settings.EMAIL_BACKEND = working
    hand_back(tag, done="Tightened", repaired_by=None, by=people[Role.MANAGER], at=NOON + HOUR)
    swept = sweep(NOON + 2 * HOUR)

    assert (swept.at_once, mailoutbox) == ({"dropped": 3}, [])
    assert set(Notice.objects.values_list("dropped", flat=True)) == {"over before it was mailed"}


def test_a_tag_is_not_told_to_one_whose_role_ended_while_the_mail_waited(
    cart, people, site, settings, mailoutbox
):
    tag_cart(cart, "Loose", by=people[Role.MECHANIC], at=NOON)
    working = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "tests.fleet.test_reminders_sending.Down"
    sweep(NOON + MINUTE)

    settings.EMAIL_BACKEND = working
    desk, today = people[Role.DESK], site.day(NOON)
    give_role(site, desk, Role.DESK, today - DAY, today - DAY, by=people[Role.MANAGER], at=NOON)
    sweep(NOON + 2 * HOUR)

    assert [name for name, _ in told(mailoutbox)] == ["manager", "mechanic"]


@pytest.mark.parametrize(("days", "noticed"), [(6, 3), (7, 0), (90, 0)])
def test_a_tag_of_long_ago_stands_in_the_digest_alone(cart, people, mailoutbox, days, noticed):
    tag_cart(cart, "Loose", by=people[Role.MECHANIC], at=NOON)

    swept = sweep(NOON + days * DAY)
    sweep(NOON + days * DAY + 10 * HOUR)

    assert swept.noticed == noticed
    digests = [subject for _, subject in told(mailoutbox) if subject.startswith("Carts at")]
    assert digests == ["Carts at Heron: 1 tagged"] * 3
    newest = [message for message in mailoutbox if message.subject.startswith("Carts at")][-1]
    assert newest.body.count("042  Loose\n    since 5 Mar 2026\n") == 1


def test_a_notice_that_waited_a_week_is_given_up(cart, people, settings, mailoutbox):
    tag_cart(cart, "Loose", by=people[Role.MECHANIC], at=NOON)
    working = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "tests.fleet.test_reminders_sending.Down"
    sweep(NOON)

    settings.EMAIL_BACKEND = working
    assert sweep(NOON + 8 * DAY).at_once == {}
    assert Notice.objects.exclude(dropped="").count() == 3


@pytest.mark.parametrize(("hours", "mails"), [("100", 0), ("103.2", 2)])
def test_a_stopped_cart_is_told_of_when_its_meter_rises(stopped, people, mailoutbox, hours, mails):
    add_reading(stopped, by=people[Role.DESK], at=NOON, hours=Decimal(hours))

    for minutes in range(3):
        sweep(NOON + minutes * MINUTE)

    subject = "Stopped, and its meter still rises: cart 042 at Heron"
    assert told(mailoutbox) == [("manager", subject), ("mechanic", subject)][:mails]
    for message in mailoutbox:
        assert "3.2 h more than at the reading before, of 1 Mar 2026, 10:00.\n" in message.body


def test_a_stopped_cart_is_told_of_once_a_day(stopped, people, mailoutbox):
    for later in (HOUR, 2 * HOUR, DAY, DAY + HOUR):
        hours = Decimal(100) + later // HOUR
        add_reading(stopped, by=people[Role.DESK], at=NOON + later, hours=hours)
        sweep(NOON + later)

    moving = [(name, subject) for name, subject in told(mailoutbox) if "rises" in subject]
    assert [name for name, _ in moving] == ["manager", "manager", "mechanic", "mechanic"]


def test_a_reading_of_the_day_of_the_stop_tells_nothing(stopped, people, mailoutbox):
    late_that_day = datetime(2026, 3, 4, 4, 30, tzinfo=UTC)  # 23:30 on 3 March
    add_reading(stopped, by=people[Role.DESK], at=late_that_day, hours=Decimal(101))

    sweep(NOON)

    assert not Notice.objects.filter(at_once=True).exists()


def test_an_estimated_reading_tells_nothing(stopped, people):
    source = Reading.Source.ESTIMATED
    add_reading(stopped, by=people[Role.DESK], at=NOON, hours=Decimal(110), source=source)

    sweep(NOON)

    assert not Notice.objects.filter(at_once=True).exists()


@pytest.mark.parametrize("rest", ["tagged", "laid up"])
def test_a_stopped_cart_at_rest_tells_nothing(stopped, people, rest):
    by = people[Role.MANAGER]
    if rest == "tagged":
        tag_cart(stopped, "Loose", by=by, at=NOON - HOUR)
    else:
        lay_up(stopped, by=by, at=NOON - HOUR)
    add_reading(stopped, by=by, at=NOON, hours=Decimal("100.5"))

    sweep(NOON)

    assert not Notice.objects.filter(stage="moving").exists()


def test_a_reading_that_is_taken_back_while_the_mail_waits_is_not_told(
    stopped, people, settings, mailoutbox
):
    reading = add_reading(stopped, by=people[Role.DESK], at=NOON, hours=Decimal(104))
    working = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "tests.fleet.test_reminders_sending.Down"
    sweep(NOON)

    settings.EMAIL_BACKEND = working
    strike(reading, reason="another cart", by=people[Role.DESK], at=NOON + MINUTE)
    sweep(NOON + HOUR)

    assert mailoutbox == []
    assert set(Notice.objects.filter(at_once=True).values_list("dropped", flat=True)) == {
        "over before it was mailed"
    }


@pytest.mark.parametrize(
    ("gap", "managers"),
    [(-MINUTE, ["manager"]), (0 * MINUTE, ["manager"]), (MINUTE, [])],
    ids=["overlap", "touch", "apart"],
)
def test_two_rounds_at_one_time_are_told_to_the_manager(cart, people, mailoutbox, gap, managers):
    first = TakenDown(uuid7(), opened_at=NOON - HOUR)
    save_round(cart, first, by=people[Role.MECHANIC], at=NOON)
    second = TakenDown(uuid7(), opened_at=NOON + gap)
    save_round(cart, second, by=people[Role.DESK], at=NOON + HOUR)

    for minutes in range(3):
        sweep(NOON + HOUR + minutes * MINUTE)

    assert [name for name, _ in told(mailoutbox)] == managers
    for message in mailoutbox:
        assert message.subject == "Two rounds at once: cart 042 at Heron"
        assert "mechanic, from 5 Mar 2026, 11:00 to 5 Mar 2026, 12:00.\n" in message.body
        assert Notice.objects.get().about == second.id


def test_rounds_at_two_carts_tell_nothing(cart, site, people):
    other = join_cart(site, {"number": "043"}, by=people[Role.MANAGER], at=START)
    for one in (cart, other):
        save_round(one, TakenDown(uuid7(), NOON - HOUR), by=people[Role.MECHANIC], at=NOON)

    assert sweep(NOON).noticed == 0


def test_a_sweep_that_began_before_a_tag_mails_what_a_later_one_wrote(cart, people, mailoutbox):
    """It waited meanwhile, for a slow mail server or a database that was away."""
    earlier = site_days(NOON - MINUTE)
    tag_cart(cart, "Steering joint loose", by=people[Role.MECHANIC], at=NOON)
    notices.make(site_days(NOON), at=NOON)

    with Post() as post:
        ended = notices.send_at_once(earlier, post, at=NOON - MINUTE)

    assert ended == {"sent": 3}
    assert len(mailoutbox) == 3
    assert set(Notice.objects.values_list("dropped", flat=True)) == {""}
