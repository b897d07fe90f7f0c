"""All kinds of faults at random against one place, for long."""

import time
from collections import Counter

from deploy.faults.breaking import Breaking
from deploy.faults.kept import Kept
from deploy.faults.listed import fault
from deploy.faults.owing import Owing, rows_twice
from deploy.faults.phone import Phone, filled
from deploy.faults.weighing import Weighing
from deploy.faults.yard import PASSWORD
from fleet.models import Notice
from shared import verifying

PEOPLE = 4
CARTS_A_MINUTE = 10
LEAST_CARTS = 8
TRIES = 40
# longer than a claim holds, and than the longest wait for a next try
LEAP_S = 61 * 60
LEAPS = 24
LEAP_WAIT_S = 20
MOST_GROWTH_PERCENT = 10
JUDGED_FROM_MINUTES = 10


@fault("F26", "SOAK", "all kinds of faults at random, for minutes", short=0.3, long=120)
def soak(world, count, tally):
    """Growth is judged from ten minutes on: before, programs are warming up."""
    owing = Owing(world, carts=max(LEAST_CARTS, int(count * CARTS_A_MINUTE)), people=PEOPLE)
    world.redis.start()
    world.sink.start()
    kept = Kept(world)
    for name in ("web server", "worker", "worker", "beat", "sweep"):
        kept.start(name)
    breaking, weighing = Breaking(world, kept), Weighing(kept.programs)
    tagging = _Tagging(world, owing, kept)
    began_s, lasts_s = time.monotonic(), count * 60
    while (gone := (time.monotonic() - began_s) / lasts_s) < 1:
        breaking.one()
        tagging.keep_pace(gone)
        breaking.pause()
        weighing.weigh()
    breaking.disarm()
    _let_it_end(world, kept, owing)
    tally.say(minutes=count, faults=breaking.done, notices=len(owing.wanted))
    _judge(tally, owing, kept)
    growth = weighing.growth_percent(weighing.bytes), weighing.growth_percent(weighing.handles)
    most = MOST_GROWTH_PERCENT if count >= JUDGED_FROM_MINUTES else float("inf")
    tally.at_most(rss_growth_percent=(growth[0], most), handles_growth_percent=(growth[1], most))
    tally.say(handles=weighing.said(weighing.handles))


def _let_it_end(world, kept, owing):
    """Set the clock forward, until all claims have lapsed and all waits are over."""
    for leap in range(1, LEAPS + 1):
        world.set_clock(leap * LEAP_S)
        try:
            kept.wait_until(owing.is_settled, "all is sent", LEAP_WAIT_S)
        except TimeoutError:
            continue
        return


def _judge(tally, owing, kept):
    # every tag stands: none may be given up, for whatever reason
    given_up = Notice.objects.filter(stage=Notice.Stage.TAGGED).exclude(dropped="")
    reasons = dict(Counter(given_up.values_list("dropped", flat=True)))
    faults = list(verifying.byte_faults(owing.yard.site))
    tally.exactly(lost=(owing.lost(), 0), dup_rows=(rows_twice(), 0), given_up=(reasons, {}))
    tally.exactly(chain=("broken" if faults else "ok", "ok"))
    # how many may have come twice is asked of the rows, after each fault
    tally.say(mail_twice=owing.mails_more(), started_again=kept.begun_again)


class _Tagging:
    """A mechanic with a phone, who tags one cart after another, and tries until it is saved.

    As many in each minute, so that no mail is alone with all that waits to end its worker.
    """

    def __init__(self, world, owing, kept):
        self.owing, self.kept = owing, kept
        self.phone = Phone(world.place.environ["FLEET_URL"])
        self.phone.sign_in(owing.yard.mechanics[0].email, PASSWORD)
        self.carts = len(owing.waiting)

    def keep_pace(self, gone):
        """Tag what is to be tagged once that share of the time has gone."""
        while self.carts - len(self.owing.waiting) < gone * self.carts:
            self.one()

    def one(self):
        cart = self.owing.waiting.pop()
        path = f"/{self.owing.yard.site.slug}/carts/{cart.pk}/tag/"
        said = self._tried(lambda: self.phone.get(path))
        fields = filled(said) | {"reason": "the left wheel rubs", "is_critical": "yes"}
        self._tried(lambda: self.phone.post(path, fields))
        self.owing.take_down(cart)

    def _tried(self, ask):
        for _ in range(TRIES):
            answer = ask()
            if answer.is_done:
                return answer
            self.kept.wait(0.5)
        raise TimeoutError(f"{TRIES} times in vain: {answer.status}")
