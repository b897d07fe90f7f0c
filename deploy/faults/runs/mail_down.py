"""A mail server that is down for a day, and one that drips for ever."""

import time
from datetime import timedelta
from pathlib import Path

from deploy.faults import mailing, yard
from deploy.faults.listed import fault
from deploy.faults.sink import DOWN, DRIP, OK
from deploy.faults.world import wait_until
from fleet import doctor
from fleet.models import Notice
from shared import clock

DAY, SIGN_WITHIN = timedelta(days=1), timedelta(minutes=15)
MINUTE_S = 60
MECHANICS = 3
# of the true clock: what a sweep of this run takes, and more
STEP_S = 1
MOST_BESIDE, TAG_EVERY_S, ALL_DRIP_S = 60, 5, 90
STORM_STEPS, SHORT_STEPS = 96, 8


@fault("F20", "SMTPDOWN", "no mail server for a day", short=20, long=500)
def down(world, count, tally):
    """``count`` notices; the day passes by the clock in steps, each a second long."""
    world.redis.start()
    place = mailing.begin(world, carts=-(-count // (MECHANICS + 1)), mechanics=MECHANICS)
    world.sink.behave(DOWN)
    before, taken = len(world.sink.connections()), len(world.sink.taken())
    for cart in place.carts:
        mailing.tag(place, cart, clock.now())
    for name in ("sweep", "worker", "beat"):
        world.start(name)
    wanted = len(place.carts) * len(place.people)
    wait_until(lambda: Notice.objects.count() >= wanted, "notices are written")
    wait_until(lambda: len(world.sink.connections()) > before, "the server is tried")
    seen_min = _pass_a_day(world, STORM_STEPS if world.order.is_long else SHORT_STEPS)
    tries = world.sink.connections()[before:]
    world.sink.behave(OK)
    took_s = wait_until(lambda: not mailing.waiting().exists(), "all is mailed", 600)
    sent = Notice.objects.filter(sent_at__isnull=False).count()
    tally.exactly(notices=(Notice.objects.count(), wanted), lost=(wanted - sent, 0))
    told = {address for mail in world.sink.taken()[taken:] for address in mail["to"]}
    tally.exactly(untold=(len({person.email for person in place.people} - told), 0))
    tally.at_most(sent_within_min_of_return=(round(took_s / 60, 1), 10))
    tally.at_most(banner_after_min=(seen_min, SIGN_WITHIN // timedelta(minutes=1)))
    tally.at_most(retry_storm_max_per_min=(_most_within_a_minute(tries), MINUTE_S))


def _pass_a_day(world, steps):
    """Return after how many minutes by the clock a sign showed the trouble; 9999 if none did."""
    seen_min, began = 9999, clock.now()
    for step in (SIGN_WITHIN, *[(DAY - SIGN_WITHIN) / steps] * steps):
        time.sleep(STEP_S)
        signs = {sign.code: sign for sign in doctor.signs(clock.now())}
        if signs["mail-server"].is_trouble and seen_min == 9999:
            seen_min = (clock.now() - began) // timedelta(minutes=1)
        mailing.turn_clock(world, step)
    return seen_min


def _most_within_a_minute(moments_s):
    return max(
        (sum(0 <= other - one < MINUTE_S for other in moments_s) for one in moments_s), default=0
    )


@fault("F22", "DRIP", "a server that drips a byte at a time for ever", short=2, long=50)
def drip(world, count, tally):
    """``count`` people's mails drip; a cart of another site is tagged all the while."""
    world.redis.start()
    place = mailing.begin(world, carts=1, mechanics=count)
    beside = yard.make(clock.now(), carts=MOST_BESIDE, slug="beside", order=False, password=None)
    world.sink.behave(OK, **{person.email: DRIP for person in place.mechanics})
    mailing.tag(place, place.carts[0], clock.now())
    for name in ("sweep", "worker", "beat"):
        world.start(name)
    dripped = Notice.objects.filter(person__in=place.mechanics)
    for cart in beside.carts:
        mailing.tag(beside, cart, clock.now())
        time.sleep(TAG_EVERY_S)
        if dripped.count() >= count and not dripped.filter(last_fault="").exists():
            break
    tally.exactly(connections=(dripped.exclude(last_fault="").count(), count))
    if world.order.is_long:
        world.sink.behave(DRIP)
        time.sleep(ALL_DRIP_S)
    world.sink.behave(OK)
    normal = Notice.objects.filter(site=beside.site)
    took_s = wait_until(lambda: not normal.filter(sent_at=None).exists(), "others are mailed", 180)
    delays = [row.sent_at - row.made_at for row in normal]
    mailing.turn_clock(world, timedelta(hours=1))
    wait_until(lambda: not mailing.waiting().exists(), "all is mailed at last", 180)
    mailing.wait_for(lambda: not _open_still(world), 10)
    tally.say(mails=len(world.sink.taken()), left_s=round(took_s))
    tally.at_most(
        workers_stuck=(_open_still(world), 0), worst_hold_s=(round(max(world.sink.held_s())), 95)
    )
    tally.at_most(normal_mail_delay_s=(round(max(delays).total_seconds()), 120))


def _open_still(world):
    """Return how many connections to the sink its clients hold (proc_net_tcp.5: 01 is open)."""
    rows = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]
    ports = [
        int(far.partition(":")[2], 16) for _n, _near, far, state, *_more in rows if state == "01"
    ]
    return ports.count(world.sink.port)
