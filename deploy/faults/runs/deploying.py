"""A release over the database of the one before, both in use; a migration killed on its way."""

import threading
from itertools import count as counted
from math import ceil

from django.db import connection
from django.urls import reverse
from servers import free_port

from deploy.faults import migrating, yard
from deploy.faults.listed import fault
from deploy.faults.phone import Phone
from deploy.faults.releases import before_this, check_out, found_place
from deploy.faults.visiting import open_round, round_of
from fleet.models import Cart, Round
from lifts.models import GreasePart
from shared.models import Person, Site

PHONES = 4
CARTS = 12
ROUND_EVERY = 5
REQUESTS_A_KILL = 250
LEAST_KILLS = 1
NEW, OLDER = "new", "older"
PAGES = ("board", "cart-list", "round-start", "tag-list", "people", "import")


class User(threading.Thread):
    """Looks at pages and sends rounds, each request to any release that runs, by chance."""

    def __init__(self, place, number, addresses, is_enough, random):
        super().__init__(daemon=True)
        self.place, self.addresses, self.is_enough = place, addresses, is_enough
        self.random, self.carts = random, place.carts[number::PHONES]
        self.phone = Phone(addresses[0])
        self.phone.sign_in(place.manager.email, yard.PASSWORD)
        self.statuses, self.unsaved, self.saved, self.trouble = [], 0, set(), None

    def run(self):
        try:
            for turn in counted():
                if self.is_enough(len(self.statuses)):
                    return
                self._act(turn)
        except Exception as trouble:  # said by the run, which waits for this thread
            self.trouble = trouble

    def _act(self, turn):
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
    "the release before and this one over its database; migrate killed",
    short=40,
    long=5000,
    on=("postgresql", "sqlite"),
)
def deploying(world, count, tally):
    """The older release makes its database; this one migrates it, and both are used.

    First the older one alone while this one migrates, then both: ``count`` requests in all,
    at least half of them to both. Before that copies of it are migrated and killed, one in
    REQUESTS_A_KILL.
    ``--older`` names the older release; without it, it is the commit before a step was last
    added to the migrations. Where there is no git history the fault is not tried.
    """
    commit = before_this(world.order.older)
    older = check_out(commit, world.place.base / "older")
    copies = migrating.Copies(world)
    _make_older(copies, older)
    kills = max(LEAST_KILLS, count // REQUESTS_A_KILL)
    migrated = migrating.kill_so_often(world, copies, kills)
    users, gave_way = _use(world, copies, older, count)
    tally.say(older=commit, migrate_gave_way=gave_way)
    take_down(tally, users)
    connection.close()
    tally.exactly(
        MIGKILL_kills=(migrated.kills, kills),
        reruns_ok=(migrated.reruns_ok, kills),
        triggers_gone=(migrated.triggers_gone, 0),
        tables_unlike_new=(len(copies.tables(NEW) ^ copies.tables(copies.own)), 0),
    )


def _make_older(copies, older):
    """Keep the new, empty database aside; have the older release begin in its place."""
    connection.close()
    copies.copy(copies.own, NEW)
    copies.empty(copies.own)
    found_place(older, copies.environ(copies.own), CARTS)
    copies.copy(copies.own, OLDER)


def _use(world, copies, older, count):
    """Return those who used it, and how often migrate gave way to them."""
    port = free_port()
    world.sink.start()
    world.start("web server", root=older, port=port)
    addresses, migrated = [f"http://127.0.0.1:{port}"], threading.Event()
    first = _begin(world, addresses, lambda done: migrated.is_set())
    try:
        gave_way = migrating.migrate_in_use(copies)
    finally:
        migrated.set()
    _join(first)
    world.start("web server")
    world.start("sweep")
    addresses.append(world.place.address)
    done = sum(len(one.statuses) for one in first)
    left = ceil(max(count / 2, count - done) / PHONES)
    return first + _join(_begin(world, addresses, lambda done: done >= left)), gave_way


def _begin(world, addresses, is_enough):
    # an older database may lack columns that this release knows
    carts = list(Cart.objects.only("pk").order_by("number"))
    manager = Person.objects.only("email").get(email__startswith="manager@")
    place = yard.Yard(Site.objects.only("slug").get(), manager, [], carts)
    connection.close()
    users = [User(place, n, addresses, is_enough, world.random) for n in range(PHONES)]
    for user in users:
        user.start()
    return users


def _join(users):
    for user in users:
        user.join()
    return users


def take_down(tally, users):
    statuses = [status for user in users for status in user.statuses]
    saved = {one for user in users for one in user.saved} - {None}
    troubles = [repr(user.trouble) for user in users if user.trouble]
    tally.want(not troubles, f"users gave up: {troubles}")
    tally.say(requests=len(statuses), rounds=len(saved))
    tally.exactly(
        unanswered_or_5xx=(sum(not 200 <= status < 500 for status in statuses), 0),
        refused=(sum(400 <= status < 500 for status in statuses), 0),
        not_saved=(sum(user.unsaved for user in users), 0),
        lost=(len(saved) - Round.objects.filter(pk__in=saved).count(), 0),
        half=(len(saved) - GreasePart.objects.filter(round__in=saved).count(), 0),
    )
