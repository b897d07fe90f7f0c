"""PostgreSQL killed, and its connections ended, while phones send rounds."""

import threading
import time
from itertools import cycle

import psycopg
from django.db import connection
from servers import children_of

from deploy.faults import yard
from deploy.faults.listed import fault
from deploy.faults.phone import Phone
from deploy.faults.visiting import PATIENCE_S, Intent, open_round
from deploy.faults.world import wait_until
from fleet.models import Round
from lifts.models import GreasePart
from shared import clock
from shared.models import Entry

PHONES = 4
CARTS = 8
ENDED_A_KILL = 2
PAUSE_S = (0, 1)
OTHERS = "select pg_terminate_backend(pid) from pg_stat_activity where pid <> pg_backend_pid()"


class Mechanic(threading.Thread):
    """Sends a round after another until told to stop; ends only with an answered one."""

    def __init__(self, world, place, number):
        super().__init__(daemon=True)
        self.place, self.stop, self.trouble = place, threading.Event(), None
        self.phone = Phone(world.place.address)
        self.phone.sign_in(place.mechanics[number].email, yard.PASSWORD)
        self.carts = place.carts[number::PHONES]
        self.intents: list[Intent] = []

    def run(self):
        try:
            for cart in cycle(self.carts):
                if self.stop.is_set():
                    return
                intent = open_round(self.phone, cart, self.place.site)
                self.intents.append(intent.send_until_saved())
        except Exception as trouble:  # said by the run, which waits for this thread
            self.trouble = trouble


@fault("F8", "DBCRASH", "PostgreSQL killed or its connections ended", short=1, long=25)
def database_lost(world, count, tally):
    """Kill so often, and end all connections twice as often, with four phones sending."""
    place = yard.make(clock.now(), carts=CARTS, mechanics=PHONES)
    world.sink.start()
    world.redis.start()
    # without beat the worker would end itself, since nothing rings
    programs = [world.start(name) for name in ("web server", "worker", "beat", "sweep")]
    before = _processes(programs)
    mechanics = [Mechanic(world, place, number) for number in range(PHONES)]
    for mechanic in mechanics:
        mechanic.start()
    _lose(world, count, mechanics)
    for mechanic in mechanics:
        mechanic.stop.set()
    for mechanic in mechanics:
        mechanic.join()
        tally.want(mechanic.trouble is None, f"a phone gave up: {mechanic.trouble!r}")
    tally.say(kills=count, ended=ENDED_A_KILL * count)
    take_down(tally, [intent for mechanic in mechanics for intent in mechanic.intents])
    tally.exactly(restarts_needed=(len(before - _processes(programs)), 0))


def _lose(world, count, mechanics):
    """Lose the database each time that another round was saved, however slow the machine."""
    losses = [_kill] * count + [_end_connections] * (ENDED_A_KILL * count)
    world.random.shuffle(losses)
    for lose in losses:
        _wait_for_one_more(mechanics)
        time.sleep(world.random.uniform(*PAUSE_S))
        lose(world)


def _wait_for_one_more(mechanics):
    enough = _saved(mechanics) + 1
    wait_until(lambda: _saved(mechanics) >= enough, "another round is saved", PATIENCE_S)


def _saved(mechanics) -> int:
    return sum(len(mechanic.intents) for mechanic in mechanics)


def _kill(world):
    world.postgresql.kill()
    time.sleep(world.random.uniform(*PAUSE_S))
    world.postgresql.start()


def _end_connections(world):
    with psycopg.connect(world.postgresql.address, autocommit=True) as ours:
        ours.execute(OTHERS)


def _processes(programs) -> set[int]:
    """The programs and their children that are there: one that was started anew is another."""
    found = set()
    for program in programs:
        if not program.has_ended():
            found |= {program.process.pid, *children_of(program.process.pid)}
    return found


def take_down(tally, intents):
    """Count what was answered as saved and what of it there is, whole."""
    # this process's own was ended like all others
    connection.close()
    ids = {intent.saved_id for intent in intents}
    failed = [answer for intent in intents for answer in intent.answers[:-1]]
    unsaid = [intent for intent in intents if intent.was_kept_unsaid]
    bare = [answer.status for answer in failed if answer.status not in (0, 503)]
    tally.exactly(
        acked=(len(ids), len(intents)),
        lost=(len(ids) - Round.objects.filter(pk__in=ids).count(), 0),
        half=(len(ids) - GreasePart.objects.filter(round__in=ids).count(), 0),
        double=(Round.objects.exclude(pk__in=ids).count(), 0),
        history_missing=(len(ids) - Entry.objects.filter(fact_id__in=ids).count(), 0),
        failed_without_a_sentence=(bare, []),
    )
    healed = f"{sum(one.saved_id in ids for one in unsaid)}/{len(unsaid)}"
    tally.say(failed_answers=len(failed), committed_but_failed=len(unsaid), healed_by_retry=healed)
    tally.want(len(ids) > 0, "no round was sent at all")
