"""Beat and the tick killed, and run by many at once."""

import time

from deploy.faults import yard
from deploy.faults.kept import Kept
from deploy.faults.listed import fault
from deploy.faults.owing import Owing, rows_twice
from deploy.faults.world import kill
from fleet.actions import tags
from fleet.models import Notice
from shared import clock
from shared.models import LastDone

BEAT = "beat"
BEFORE, AFTER = "before-tick-commit", "after-tick-commit"
CARTS_A_KILL = 5
TAG_EVERY_S = 2
SWEPT_BY = (LastDone.What.SWEEP_BY_BEAT, LastDone.What.SWEEP_BY_LOOP)


@fault("F3", "TICKKILL", "beat killed, and the tick before and after its commit", short=6, long=100)
def tick_kills(world, count, tally):
    place = yard.make(clock.now(), carts=count * CARTS_A_KILL, order=False)
    world.redis.start()
    world.sink.start()
    kept = Kept(world)
    for name in ("worker", "sweep", BEAT):
        kept.start(name)
    beat = kept.programs[-1]
    for number in range(count):
        carts = place.carts[number * CARTS_A_KILL : (number + 1) * CARTS_A_KILL]
        _kill_one((BEAT, BEFORE, AFTER)[number % 3], kept, beat, place, carts)
    wanted = {
        (about, person.pk)
        for about in place.ordered().values_list("pk", flat=True)
        for person in place.people
    }
    kept.wait_until(lambda: len(_told(place)) >= len(wanted), "each recheck has its notices", 60)
    # whatever wrote too much has had its chance to
    kept.wait(2)
    told = _told(place)
    tally.say(kills=count, due=len(wanted), notices=len(told))
    tally.exactly(missing=(len(wanted - set(told)), 0), extra=(len(told) - len(wanted), 0))


def _kill_one(what, kept, beat, place, carts):
    """Order rechecks for today, and end what would tell of them, or what rings for it."""
    at = clock.now()
    if what == BEAT:
        kept.wait(kept.world.random.random())
        kill(beat)
    else:
        kept.world.arm(what)
    for cart in carts:
        day = place.site.day(at)
        tags.order_recheck(cart, yard.KIND, day, reason="seen rolling on", by=place.manager, at=at)
    fired = what == BEAT or kept.world.has_fired
    kept.wait_until(lambda: fired is True or fired(what), f"killed at {what}")


def _told(place):
    about = place.ordered().values("pk")
    return list(Notice.objects.filter(about__in=about).values_list("about", "person"))


@fault("F4", "TWOBEATS", "two beats and three sweeps at once, for seconds", short=20, long=600)
def two_beats(world, count, tally):
    owing = Owing(world, carts=count // TAG_EVERY_S, people=4)
    world.redis.start()
    world.sink.start()
    kept = Kept(world)
    for name in ("worker", "worker", "sweep", "sweep", "sweep", BEAT, BEAT):
        kept.start(name)
    kept.wait_until(_both_swept, "beat and loop have swept")
    ticks = _watch(kept, owing, count)
    kept.wait_until(owing.is_settled, "all that is owed is sent")
    notices = Notice.objects.filter(stage=Notice.Stage.TAGGED).count()
    tally.say(seconds=count, ticks_seen=ticks, notices=notices)
    tally.want(ticks >= count, f"only {ticks} ticks were seen in {count} s")
    tally.exactly(lost=(owing.lost(), 0), extra_notices=(notices - len(owing.wanted), 0))
    tally.exactly(dup_rows=(rows_twice(), 0), extra_mails=(owing.mails_more(), 0))


def _swept_at():
    return set(LastDone.objects.filter(what__in=SWEPT_BY).values_list("what", "at"))


def _both_swept():
    return len(_swept_at()) == len(SWEPT_BY)


def _watch(kept, owing, seconds):
    """Tag a cart now and then, so long; return how many sweeps were seen to end meanwhile."""
    seen = set()
    began_s = time.monotonic()
    while (passed_s := time.monotonic() - began_s) < seconds:
        if owing.waiting and passed_s > len(owing.owed_at) * TAG_EVERY_S:
            owing.tag()
        seen |= _swept_at()
        kept.wait(0.05)
    return len(seen)
