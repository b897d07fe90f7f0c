"""Redis lost again and again, absent, or handing out each message three times."""

import time

import redis as redis_client

from deploy.faults.kept import Kept
from deploy.faults.listed import fault
from deploy.faults.owing import Owing, rows_twice
from shared import clock
from shared.models import LastDone

FLUSHED, KILLED, EMPTIED = LOSSES = ("flushed", "killed", "restarted empty")
GONE_S = 4
BETWEEN_S = 12
# as a server is set, so that a delay is one that people would meet
LONG_SWEEP_S, SHORT_SWEEP_S = "60", "2"


@fault("F5", "BROKERLOSS", "Redis flushed, killed, restarted empty, under load", short=5, long=50)
def broker_losses(world, count, tally):
    owing = Owing(world, carts=2 * count + 1, people=4)
    every = {"FLEET_SWEEP_EVERY": LONG_SWEEP_S if world.order.is_long else SHORT_SWEEP_S}
    world.redis.start()
    world.sink.start()
    kept = Kept(world)
    for name in ("worker", "worker", "beat", "sweep"):
        kept.start(name, **every)
    owing.tag()
    for number in range(count):
        owing.tag()
        _lose(world, LOSSES[number % len(LOSSES)])
        owing.tag()
        kept.wait(world.random.random() * (BETWEEN_S if world.order.is_long else 1))
    lost_at = clock.now()
    kept.wait_until(owing.is_settled, "all that is owed is sent")
    back_s = kept.wait_until(lambda: _beat_swept_after(lost_at), "beat's rings arrive again", 240)
    tally.say(losses=count, notices=len(owing.wanted))
    tally.exactly(lost=(owing.lost(), 0), dup_rows=(rows_twice(), 0))
    tally.exactly(mail_twice=(owing.mails_more(), 0))
    tally.at_most(worst_delay_s=(round(owing.worst_delay_s()), 120))
    tally.at_most(rings_again_after_s=(round(back_s), 240))


def _lose(world, how):
    if how == FLUSHED:
        redis_client.Redis(port=world.redis.port).flushall()
        return
    (world.redis.kill if how == KILLED else world.redis.stop)()
    time.sleep(world.random.random() * GONE_S)
    world.redis.start()


def _beat_swept_after(at):
    return LastDone.objects.filter(what=LastDone.What.SWEEP_BY_BEAT, at__gt=at).exists()
