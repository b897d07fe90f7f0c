"""The clock set forward and back while mails go out and rounds are recorded."""

from collections import Counter
from datetime import timedelta

from deploy.faults import mailing
from deploy.faults.listed import fault
from deploy.faults.sink import LATE
from deploy.faults.world import wait_until
from fleet.models import Notice, Tag
from fleet.reminding import Stage
from shared import clock
from shared.models import LastDone

HOUR, DAY, YEAR = timedelta(hours=1), timedelta(days=1), timedelta(days=365)
# each way and back, so that the clock is right again after every sixth
STEPS = (HOUR, -HOUR, -DAY, DAY, YEAR, -YEAR)
What = LastDone.What
NEAR = timedelta(minutes=1)
CLAIMED_WITHIN_S, NOTED_WITHIN_S, BEAT_WITHIN_S = 10, 60, 90


@fault("F12", "CLOCK", "the clock set forward and back by up to a year", short=6, long=60)
def clock_steps(world, count, tally):
    """Before each step a cart is tagged, and the step falls while its mails go out."""
    world.redis.start()
    place = mailing.begin(world, carts=count, mechanics=2)
    world.sink.behave(LATE)
    for name in ("sweep", "worker", "beat"):
        world.start(name)
    wait_until(lambda: _is_swept(What.SWEEP_BY_BEAT), "beat sweeps")
    noted, stalls_s, in_flight = 0, [], 0
    for cart, step in zip(place.carts, _steps(count), strict=True):
        mailing.tag(place, cart, clock.now())
        in_flight += _is_claimed()
        mailing.turn_clock(world, step)
        stalls_s.append(_beat_comes_after_s())
        noted += _is_noted()
    wanted = count * len(place.people)
    tagged = Notice.objects.filter(stage=Stage.TAGGED)
    mailing.wait_for(lambda: tagged.filter(sent_at__isnull=False).count() >= wanted)
    ids = Counter(mail["id"] for mail in world.sink.taken())
    tally.say(steps=count, in_flight=in_flight)
    tally.exactly(lost=(wanted - tagged.filter(sent_at__isnull=False).count(), 0))
    tally.exactly(extra=(tagged.count() - wanted, 0))
    tally.exactly(two_workers_one_notice=(sum(times - 1 for times in ids.values()), 0))
    tally.exactly(banner=(f"{noted}/{count}", f"{count}/{count}"))
    tally.at_most(beat_stall_s=(round(max(stalls_s)), BEAT_WITHIN_S))
    _tell_of_records(tally, place)


def _steps(count):
    return [STEPS[n % len(STEPS)] for n in range(count)]


def _is_swept(what):
    """Whether it was noted at about this hour of the clock as it is now."""
    row = LastDone.objects.filter(what=what).first()
    return row is not None and abs(clock.now() - row.at) < NEAR


def _is_claimed():
    """Wait until a mail is on its way; whether one was."""
    return mailing.wait_for(
        lambda: mailing.waiting().exclude(claimed_at=None).exists(), CLAIMED_WITHIN_S
    )


def _beat_comes_after_s():
    try:
        return wait_until(lambda: _is_swept(What.SWEEP_BY_BEAT), "beat", BEAT_WITHIN_S)
    except TimeoutError:
        return BEAT_WITHIN_S + 1


def _is_noted():
    """Whether a step was noted by the clock as it is now."""
    return mailing.wait_for(lambda: _is_swept(What.CLOCK_STEPPED), NOTED_WITHIN_S)


def _tell_of_records(tally, place):
    """Say what became of records made while the clock was ahead, and of one made now."""
    now = clock.now()
    tags = Tag.objects.filter(cart__in=place.carts)
    tally.exactly(recorded=(tags.count(), len(place.carts)))
    tally.say(arrived_ahead=tags.filter(received_at__gt=now + NEAR).count())
    tally.say(done_ahead=tags.filter(done_at__gt=now + NEAR).count())
    tally.say(known_now=tags.known(now).standing().count())
