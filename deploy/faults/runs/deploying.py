"""Two releases over one database, and a migration killed on its way."""

import threading
from itertools import count as counted

from django.urls import reverse
from servers import free_port

from deploy.faults import migrating, yard
from deploy.faults.listed import fault
from deploy.faults.phone import Phone
from deploy.faults.releases import before_this, check_out, ways_back
from deploy.faults.visiting import open_round, round_of
from fleet.models import Round
from lifts.models import GreasePart
from shared import clock

PHONES = 4
CARTS = 12
ROUND_EVERY = 5
REQUESTS_A_KILL = 250
LEAST_KILLS = 2
PAGES = ("board", "cart-list", "round-start", "tag-list", "people", "import")


class Person(threading.Thread):
    """Looks at pages and sends rounds, each request to either release by chance."""

    def __init__(self, place, number, addresses, requests, random):
        super().__init__(daemon=True)
        self.place, self.addresses, self.requests = place, addresses, requests
        self.random, self.carts = random, place.carts[number::PHONES]
        self.phone = Phone(addresses[0])
        self.phone.sign_in(place.manager.email, yard.PASSWORD)
        self.statuses, self.unsaved, self.saved = [], 0, set()

    def run(self):
        for turn in counted():
            if len(self.statuses) >= self.requests:
                return
            self.phone.address = self.random.choice(self.addresses)
            if turn % ROUND_EVERY:
                self._look()
            else:
                self._send_round()

    def _look(self):
        page = reverse(self.random.choice(PAGES), args=[self.place.site.slug])
        self.statuses.append(self.phone.get(page).status)

    def _send_round(self):
        """Open the page at one release; send it to whichever comes."""
        intent = open_round(self.phone, self.random.choice(self.carts), self.place.site)
        self.phone.address = self.random.choice(self.addresses)
        answer = intent.send()
        self.statuses += [200, answer.status]
        self.saved.add(round_of(answer))
        self.unsaved += round_of(answer) is None


@fault(
    "F24",
    "DEPLOY",
    "the release before beside this one; migrate killed",
    short=100,
    long=5000,
    on=("postgresql", "sqlite"),
)
def deploying(world, count, tally):
    """Send so many requests to both releases; kill migrate once in REQUESTS_A_KILL of them.

    ``--older`` names the release before; without it, it is the commit before migrations
    changed last. The database that migrate is killed over went back to that one's migrations.
    """
    commit = before_this(world.order.older)
    older = check_out(commit, world.place.base / "older")
    kills = max(LEAST_KILLS, count // REQUESTS_A_KILL)
    migrated = migrating.kill_so_often(world, ways_back(older), kills)
    port = free_port()
    place = yard.make(clock.now(), carts=CARTS)
    world.sink.start()
    world.start("web server")
    world.start("web server", root=older, port=port)
    world.start("sweep")
    addresses = [world.place.address, f"http://127.0.0.1:{port}"]
    people = [
        Person(place, number, addresses, count // PHONES, world.random) for number in range(PHONES)
    ]
    for person in people:
        person.start()
    for person in people:
        person.join()
    tally.say(older=commit)
    take_down(tally, people)
    tally.exactly(
        MIGKILL_kills=(migrated.kills, kills),
        reruns_ok=(migrated.reruns_ok, kills),
        triggers_gone=(migrated.triggers_gone, 0),
    )


def take_down(tally, people):
    statuses = [status for person in people for status in person.statuses]
    saved = {one for person in people for one in person.saved} - {None}
    tally.say(requests=len(statuses), rounds=len(saved))
    tally.exactly(
        unanswered_or_5xx=(sum(not 200 <= status < 500 for status in statuses), 0),
        refused=(sum(400 <= status < 500 for status in statuses), 0),
        not_saved=(sum(person.unsaved for person in people), 0),
        lost=(len(saved) - Round.objects.filter(pk__in=saved).count(), 0),
        half=(len(saved) - GreasePart.objects.filter(round__in=saved).count(), 0),
    )
