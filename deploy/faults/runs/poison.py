"""Rows that cannot be mailed, or that end whoever mails them, among good ones."""

import time
from datetime import timedelta
from uuid import uuid4

from django.db.models import Min

from deploy.faults import mailing, yard
from deploy.faults.listed import fault
from deploy.faults.sink import OK
from fleet.actions import reminders
from fleet.models import Notice, Tag
from shared import clock
from shared.models import Person, Site

MECHANICS = 4
LAPSES = timedelta(minutes=11)
MOST_KILLS = 3
WAIT_S = 240
TWO_LINES = "mo@bad.example\nBcc: stranger@elsewhere.example"
INJECTED = "Yard\r\nBcc: stranger@elsewhere.example"


@fault("F23", "POISON", "rows that spoil a mail or end the sender", short=20, long=500)
def poison(world, count, tally):
    """Of ``count`` rows one ends whoever mails it; three more spoil their own mail alone."""
    place = mailing.begin(world, carts=-(-(count - 1) // (MECHANICS + 1)), mechanics=MECHANICS)
    bad = yard.make(clock.now(), carts=1, slug="bad", order=False, password=None)
    # the bad site's daily mails and checkpoints go out well
    reminders.sweep(clock.now())
    _name(place, bad, INJECTED, INJECTED, TWO_LINES)
    world.sink.behave(OK, **{bad.manager.email: "rcpt die"})
    for here in (bad, place):
        for cart in here.carts:
            mailing.tag(here, cart, clock.now())
    Notice.objects.bulk_create([_spoilt(place, cart=None), _spoilt(place, cart=place.carts[0])])
    wanted = len(place.carts) * len(place.people)
    kills = _mail_all(world, wanted + 4)
    _name(place, bad, place.site.name, place.manager.name, bad.mechanics[0].email)
    good = Notice.objects.filter(site=place.site, about__in=_tags(place))
    tally.exactly(good=(good.count(), wanted))
    tally.exactly(delivered=(good.exclude(sent_at=None).count(), wanted))
    tally.exactly(dead=(_killers(bad).filter(is_dead=True).exclude(dropped="").count(), 1))
    tally.at_most(child_kills=(kills, MOST_KILLS))
    others = Notice.objects.exclude(pk__in=good).exclude(pk__in=_killers(bad))
    tally.exactly(spoilt_ended_with_reason=(others.exclude(dropped="").count(), 3))
    strangers = [mail for mail in world.sink.taken() if "stranger" in str(mail["to"])]
    tally.exactly(to_strangers=(len(strangers), 0))
    tally.say(reasons=sorted({row.dropped for row in Notice.objects.exclude(dropped="")}))


def _name(place, bad, site, manager, address):
    """Write names and an address past every form that would refuse them."""
    Site.objects.filter(pk=place.site.pk).update(name=site)
    Person.objects.filter(pk=place.manager.pk).update(name=manager)
    Person.objects.filter(pk=bad.mechanics[0].pk).update(email=address)


def _spoilt(place, cart):
    """Return a notice about a tag that is not there."""
    at = clock.now()
    return Notice(
        site=place.site,
        person=place.mechanics[1],
        cart=cart,
        about=uuid4(),
        stage=Notice.Stage.TAGGED,
        day=place.site.day(at),
        made_at=at,
        at_once=True,
    )


def _tags(place):
    return list(Tag.objects.filter(cart__in=place.carts).values_list("pk", flat=True))


def _killers(bad):
    return Notice.objects.filter(person=bad.manager)


def _mail_all(world, wanted):
    """Sweep until every row has ended, started again as often as needed; return how often."""
    sweep, kills, until_s = world.start("sweep"), 0, time.monotonic() + WAIT_S
    while time.monotonic() < until_s:
        time.sleep(0.3)
        if sweep.has_ended():
            kills += 1
            mailing.turn_clock(world, LAPSES)
            sweep = world.start("sweep")
        waiting = mailing.waiting()
        if Notice.objects.count() >= wanted and not waiting.exists():
            break
        next_at = waiting.aggregate(at=Min("next_try_at"))["at"]
        if next_at and not waiting.filter(next_try_at=None).exists() and next_at > clock.now():
            mailing.turn_clock(world, next_at - clock.now())
    return kills
