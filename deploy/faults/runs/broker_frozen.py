"""Redis frozen while phones send what rings it, and rounds."""

import re
import threading
import time
from dataclasses import dataclass

import redis

from deploy.faults import yard
from deploy.faults.listed import fault
from deploy.faults.phone import Answer, Phone
from deploy.faults.visiting import open_page, open_round, round_of
from fleet.models import ImportRun, Round
from shared import clock

PHONES = 20
EVERY_S = 3
WARM_POSTS = 2
WORST_S = 2.5
# busier than this, the freeze may add so much to what a post took before
BUSY_S = 1.0
ADDED_S = 1.5
ROUND_EVERY = 4
RINGS_WITHIN_S = 20
SHEET = b"number,make,model\n900,A,B\n"


@dataclass(frozen=True)
class Took:
    """One post: when it was sent, how long its answer took, and what that was."""

    began_s: float
    took_s: float
    answer: Answer

    @property
    def ended_s(self):
        return self.began_s + self.took_s

    @property
    def is_saved(self):
        return bool(round_of(self.answer) or re.search(r"/import/[0-9a-f-]{36}/$", self.answer.url))


class Sender(threading.Thread):
    """Sends something every few seconds by turns, and takes down how long each took."""

    def __init__(self, world, place, number, posts):
        super().__init__(daemon=True)
        self.number, self.import_path = number, f"/{place.site.slug}/import/"
        self.phone = Phone(world.place.address)
        self.phone.sign_in(place.manager.email, yard.PASSWORD)
        open_page(self.phone, self.import_path)
        self.acts = [self._act(place, number + turn) for turn in range(posts)]
        self.took: list[Took] = []

    def _act(self, place, turn):
        """A round's page is opened before: filling it in is no part of sending it."""
        is_round = turn % ROUND_EVERY == 0
        return (
            open_round(self.phone, place.carts[self.number], place.site).send
            if is_round
            else (self.send_sheet)
        )

    def send_sheet(self):
        return self.phone.post(self.import_path, {"sheet": "carts"}, {"file": SHEET})

    def run(self):
        time.sleep(EVERY_S * self.number / PHONES)
        for act in self.acts:
            began_s = time.monotonic()
            answer = act()
            self.took.append(Took(began_s, time.monotonic() - began_s, answer))
            time.sleep(max(0, began_s + EVERY_S - time.monotonic()))


@fault("F7", "FROZEN", "Redis frozen while twenty phones send", short=40, long=400)
def broker_frozen(world, count, tally):
    """Freeze it for as long as so many posts take: 60 s for 400, after a while of none."""
    place = yard.make(clock.now(), carts=PHONES)
    world.redis.start()
    world.start("web server")
    posts = count // PHONES
    senders = [Sender(world, place, number, posts + WARM_POSTS) for number in range(PHONES)]
    for sender in senders:
        sender.start()
    time.sleep(WARM_POSTS * EVERY_S)
    world.redis.freeze()
    frozen_at_s = time.monotonic()
    for sender in senders:
        sender.join()
    frozen_s = time.monotonic() - frozen_at_s
    world.redis.thaw()
    take_down(tally, [each for sender in senders for each in sender.took], frozen_at_s)
    tally.say(frozen_s=round(frozen_s))
    tally.exactly(rings_again=(_rings_again(world, senders[0]), True))


def take_down(tally, took, frozen_at_s):
    """Count the posts made while it was frozen, and what the freeze itself added."""
    before = [one.took_s for one in took if one.ended_s <= frozen_at_s]
    meanwhile = [one for one in took if one.ended_s > frozen_at_s]
    worst_before_s = max(before, default=0)
    saved = sum(one.is_saved for one in took)
    tally.say(posts=len(meanwhile))
    tally.exactly(
        errors=(sum(not one.is_saved for one in meanwhile), 0),
        lost=(max(0, saved - Round.objects.count() - ImportRun.objects.count()), 0),
    )
    limit_s = WORST_S
    if worst_before_s > BUSY_S:
        tally.say(worst_before_s=round(worst_before_s, 2))
        limit_s = worst_before_s + ADDED_S
    worst_s = max(one.took_s for one in meanwhile)
    tally.at_most(worst_post_s=(round(worst_s, 2), round(limit_s, 2)))


def _rings_again(world, sender) -> bool:
    """Say whether the web server rings a broker that is back, by itself and soon."""
    queue = redis.Redis.from_url(world.redis.address)
    queue.flushall()
    for _ in range(RINGS_WITHIN_S):
        sender.send_sheet()
        if queue.llen("celery"):
            return True
        time.sleep(1)
    return False
