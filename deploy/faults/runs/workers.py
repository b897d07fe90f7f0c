"""The worker killed at each step of a mail, and told three times to look."""

from collections import Counter
from functools import partial

from deploy.faults.kept import Kept
from deploy.faults.listed import fault
from deploy.faults.owing import Owing, rows_twice
from fleet.actions.claims import CLAIM_LAPSES
from fleet.models import Digest, Notice

# before the text is on its way, and after its row says so: never a second mail
CLEAR = ("after-claim", "after-connect", "after-rcpt", "after-settle")
# the whole text is given, and the server's answer is not yet in the row: one more mail
DOUBTFUL = ("before-250", "after-250")
PEOPLE = 10
MAILS_BEFORE = 3
LAPSE_S = CLAIM_LAPSES.total_seconds() + 60


@fault("F2", "WORKERKILL", "the worker killed at each step of a mail", short=12, long=204)
def worker_kills(world, count, tally):
    """Kill at six points by name, equally; a claim lapses as the clock goes forward.

    The sink takes a mail down before it answers. So both points after the end of the text
    may bring a mail twice; the four others must not, and are all tried before those.
    """
    per_point = max(1, count // len(CLEAR + DOUBTFUL))
    owing = Owing(world, carts=per_point * len(CLEAR + DOUBTFUL), people=PEOPLE)
    killing = _Killing(world, owing)
    for _ in range(per_point):
        killing.kill_at(CLEAR)
    twice_elsewhere = owing.mails_more()
    for _ in range(per_point):
        killing.kill_at(DOUBTFUL)
    _say(tally, owing, killing.kills, twice_elsewhere)


class _Killing:
    def __init__(self, world, owing):
        self.world, self.owing = world, owing
        self.kills = Counter()
        self.off_by_s = 0.0
        world.redis.start()
        world.sink.start()
        self.kept = Kept(world)
        self.kept.start("worker", FLEET_SWEEP_EVERY="1")
        # of one process: it ends as a whole, and is started again
        self.kept.start("worker", "--pool", "solo", FLEET_SWEEP_EVERY="1")
        self.kept.start("beat", FLEET_SWEEP_EVERY="1")

    def kill_at(self, points):
        """Have a process end at each of the points, and all that is owed sent in the end."""
        for point in points:
            # a connection is made but once a sweep
            after = 0 if point == "after-connect" else self.world.random.randint(0, MAILS_BEFORE)
            self.world.arm(point, after)
        self.owing.tag(len(points))
        for point in points:
            self.kept.wait_until(partial(self.world.has_fired, point), f"a kill at {point}")
        self.kills.update(points)
        self.off_by_s += LAPSE_S
        self.world.set_clock(self.off_by_s)
        self.kept.wait_until(self.owing.is_settled, "all that is owed is sent")


def _say(tally, owing, kills, twice_elsewhere):
    twice = owing.twice()
    same = sum(len({mail["id"] for mail in mails}) == 1 for mails in twice)
    dead = sum(model.objects.filter(is_dead=True).count() for model in (Notice, Digest))
    doubtful = sum(kills[point] for point in DOUBTFUL)
    tally.say(kills=kills.total(), notices=len(owing.wanted))
    tally.exactly(lost=(owing.lost(), 0), dead=(dead, 0), dup_rows=(rows_twice(), 0))
    tally.at_most(mail_twice=(owing.mails_more(), doubtful))
    tally.want(owing.mails_more() >= kills["after-250"], "what was taken was not sent again")
    tally.exactly(twice_elsewhere=(twice_elsewhere, 0))
    tally.exactly(same_message_id=(f"{same}/{len(twice)}", f"{len(twice)}/{len(twice)}"))
