"""Tells the demo's 14 months through the actions, in order of time."""

import heapq
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import count
from random import Random
from uuid import uuid5

from deploy.demo import answers, fittings, singles, wrenches
from deploy.demo.alignments import Alignments
from deploy.demo.carts import SEED, DemoCart
from deploy.demo.memory import Memory
from deploy.demo.visits import Call, calls_of, day_after_hours
from fleet.actions import meters, rounds
from fleet.kinds import Cut
from fleet.models import Cart
from lifts import actions as lift_actions
from lifts.models import Kit, Wrench
from lifts.parts.joint_wrenches import Rack
from lifts.visit_kit import joints_on
from shared.clock import moment_of

FULL = ("joints", "grease", "tyres", "camber-toe", "brake", "label")
WORK = {
    "close-out": (*FULL, "stop-run", "drive", "speed"),
    "close-out, in the shop": ("joints", "grease", "tyres", "brake", "label"),
    "first": ("joints", "brake", "label"),
    "settle": FULL,
    "second-settle": ("joints", "camber-toe"),
    "grease": ("grease", "tyres", "label"),
    "joints and grease": ("joints", "grease", "tyres", "label"),
    "everything": (*FULL, "stop-run", "speed", "hub-play"),
    "joints": ("joints",),
    "repeat": ("joints",),
    "look again": ("joints",),
    "short": ("joints", "label"),
    "camber and toe": ("camber-toe",),
}
CAMBER_AGAIN_HOURS = (25.0, 25.0 + 238.0)
SETTLING = ("close-out", "close-out, in the shop", "first", "settle", "second-settle")
# before the interval of camber and toe begins
EARLY = SETTLING[:-1]


@dataclass
class Story:
    """A queue of what happens, told by moment; ``people`` are by place and role."""

    today: date
    people: dict
    carts: list[DemoCart]
    random: Random = field(default_factory=lambda: Random(77))
    queue: list = field(default_factory=list)
    order: Callable = field(default_factory=lambda: count().__next__)
    kits: dict = field(default_factory=dict)
    racks: dict = field(default_factory=dict)
    memory: Memory = field(default_factory=Memory)
    alignments: Alignments = field(default_factory=Alignments)
    # carts that have joints beside their kit's own
    extended: set = field(default_factory=set)

    def at(self, place, day, hour) -> datetime:
        return moment_of(day, hour, place.values["zone"])

    def ago(self, days) -> date:
        return self.today - timedelta(days=days)

    def cart(self, number) -> DemoCart:
        return next(cart for cart in self.carts if cart.number == number and not cart.key)

    def cart_of(self, cart_id) -> DemoCart:
        return next(cart for cart in self.carts if cart.cart_id == cart_id)

    @staticmethod
    def all_firm(joint):
        return {}

    def add(self, at: datetime, act: Callable):
        heapq.heappush(self.queue, (at, self.order(), act))

    def act(self, cart, days_ago, hour, act):
        """Plan ``act(row, at)`` at a cart."""
        at = self.at(cart.place, self.ago(days_ago), hour)
        self.add(at, lambda at: act(self.row(cart), at))

    def at_rack(self, wrench, days_ago, hour, act):
        """Plan ``act(row, by, at)`` at a wrench, by the first mechanic of its place."""
        by = self.people[wrench.slug, "mechanic"][0]
        place = next(cart.place for cart in self.carts if cart.place.values["slug"] == wrench.slug)

        def at_wrench(at):
            act(Wrench.objects.select_related("site").get(pk=wrench.id), by, at)
            self.racks.clear()

        self.add(self.at(place, self.ago(days_ago), hour), at_wrench)

    def tell(self):
        """Let everything happen, in order of time."""
        while self.queue:
            at, _, act = heapq.heappop(self.queue)
            act(at)

    def row(self, cart: DemoCart) -> Cart:
        return Cart.objects.select_related("site").get(pk=cart.cart_id)

    def someone(self, cart, role):
        return self.random.choice(self.people[cart.place.values["slug"], role])

    def plan_lift(self, cart: DemoCart):
        """Plan a cart's fitting and the visits after it."""
        self.add(self.at(cart.place, cart.fitted_day, 9), lambda at: self._fit(cart, at))
        for call in calls_of(cart):
            hour = 11 if call.work == "close-out" else self.random.randrange(8, 16)
            self.add_call(cart, call, hour)

    def add_call(self, cart, call: Call, hour=10, **more):
        at = self.at(cart.place, call.day, hour)
        self.add(at, lambda at: self.visit(cart, call, at, **more))

    def _fit(self, cart, at):
        row = self.row(cart)
        by = self.someone(cart, "mechanic")
        meters.add_reading(row, by=by, at=at, **self.shown(cart, cart.fitted_day))
        self.alignments.saw_meters(cart, cart.fitted_day)
        lift_actions.fit(
            row,
            self.kit(cart),
            by=by,
            at=at,
            id=uuid5(cart.cart_id, f"fitting {cart.fitted_day}"),
            lines=fittings.lengths(cart),
            **fittings.about(cart, by, self.someone(cart, "manager")),
        )
        self.memory.forget(row.pk)

    def kit(self, cart) -> Kit:
        key = (cart.place.values["slug"], cart.kit_code)
        if key not in self.kits:
            slug, code = key
            kit = Kit.objects.current().get(site__slug=slug, code=code)
            self.kits[key] = (kit, list(kit.joints.all()), list(kit.grease_points.all()))
        return self.kits[key][0]

    def parts_of_kit(self, cart):
        self.kit(cart)
        return self.kits[cart.place.values["slug"], cart.kit_code][1:]

    def shown(self, cart, day):
        return {"hours": cart.hours_shown(day), "distance": cart.distance_shown(day)}

    def visit(
        self, cart, call: Call, at, *, by=None, found=None, parts=None, only=(), on=None, **more
    ):
        """Save a round as the call says; findings may call for another visit.

        ``only`` these joints or families of them are gone round, when not all are. ``on`` is
        the cart that it is written on, when that is the wrong one.
        """
        by = by or self.someone(cart, "mechanic")
        row = self.row(on or cart)
        if not parts:
            wanted = [j for j in self._joints(cart, row, at) if _is_among(j, only)]
            parts = self.parts(cart, call, wanted, found or self.findings(call.work))
        visit = self.attending(cart, row, call, at, by, more.get("corrects"))
        taken = self.taken_down(cart, call, at, [one.ready(visit) for one in parts], **more)
        saved = rounds.save_round(row, taken, by=by, at=at)
        self.memory.keep(row.pk, parts)
        self.alignments.saw_meters(cart, call.day)
        for outcome in saved.outcomes:
            self._follow_up(cart, call, outcome)
        return saved

    def attending(self, cart, row, call, at, by, corrects=None) -> answers.Attending:
        """Return the visit as its parts ask for it."""
        stage = "settling" if call.work in SETTLING else "recurring"
        # the row lags behind: it is projected at the end of the story
        row.is_lifted = cart.fitted_day is not None and cart.fitted_day <= call.day
        visit = answers.Attending(row, row.site, at, stage, corrects=corrects, memory=self.memory)
        visit.rack = self._rack(visit)
        named = wrenches.names_carried(self, row.site.slug, by, row.site.day(at))
        hanging = [one.wrench for one in visit.rack.standings.values()]
        visit.carried = [wrench for wrench in hanging if wrench.name in named]
        return visit

    def _rack(self, visit):
        """Return the rack as it stood in that week, or since the last act at it."""
        key = visit.site.slug, visit.site.day(visit.at).isocalendar()[:2]
        if key not in self.racks:
            self.racks[key] = Rack(visit)
        return self.racks[key]

    def _joints(self, cart, row, at):
        if cart.cart_id in self.extended:
            return joints_on(row, Cut(at, at))
        return self.parts_of_kit(cart)[0]

    def taken_down(self, cart, call, at, parts, **more) -> rounds.TakenDown:
        """Return a visit as a mechanic takes it down; ``more`` outdoes what it says."""
        said = {
            "id": uuid5(SEED, f"{cart.cart_id} {call.day} {call.work}"),
            "opened_at": at - timedelta(minutes=self.random.randrange(6, 35)),
            "identified": "scanned",
            "cautions_seen": True,
            "parts": parts,
            **self.shown(cart, call.day),
        }
        return rounds.TakenDown(**{**said, **more})

    def _follow_up(self, cart, call, outcome):
        events = {start.event for start in outcome.starts}
        if "lug-took-up" in events:
            self._again(cart, call, 1, {"lugs"})
        if "u-bolt-took-up" in events:
            self._again(cart, call, 3, {"u-bolts"})
        if "camber-turned" in events:
            self._camber_again(cart, call)

    def _camber_again(self, cart, call):
        """Plan the repeat, and the next turn of the interval that begins anew with it."""
        is_early = call.work in EARLY
        for hours in CAMBER_AGAIN_HOURS[:1] if is_early else CAMBER_AGAIN_HOURS:
            day = day_after_hours(cart, call.day, hours)
            if day <= min(cart.visits_until, self.today - timedelta(days=1)):
                self.add_call(cart, Call(day, "camber and toe"), 15)

    def _again(self, cart, call, days, families):
        day = call.day + timedelta(days=days)
        if day <= min(cart.visits_until, self.today - timedelta(days=1)):
            self.add_call(cart, Call(day, "repeat"), 14, only=families)

    def findings(self, work):
        """Return how a look turns out: bedding takes up early, hardly ever later."""

        def found_at(joint):
            chance = self.random.random()
            if joint.family == "u-bolts" and work in ("first", "settle") and chance < 0.14:
                return {"found": "took up", "moved": "1", "action": "tightened", "right": True}
            if joint.family == "lugs" and work == "first" and chance < 0.04:
                return {"found": "took up", "moved": "1", "action": "tightened", "right": True}
            if joint.thread_locker and chance < 0.01:
                return {"found": "took up", "moved": "2", "action": "relocked", "right": True}
            return {}

        return found_at

    def parts(self, cart, call, joints, looks):
        """Return the answers of a call's parts; ``looks`` say what is found at ``joints``."""
        names = (*WORK[call.work], *call.also)
        units = cart.place.values["units"]
        _, points = self.parts_of_kit(cart)
        makers = {
            "joints": lambda: answers.joints(joints, looks),
            "grease": lambda: answers.grease(
                points,
                self.random.randrange(2, 5),
                lubricant=singles.lubricant(self, cart, call.day),
            ),
            "tyres": lambda: answers.tyres(self.random.choice((20, 21, 22))),
            "camber-toe": lambda: self.alignments.sheet(cart, call.day),
            "brake": lambda: answers.brake(stop_runs="stop-run" in names, units=units),
            "drive": lambda: answers.drive("1 mi" if units == "inch" else "1.5 km"),
            "label": lambda: self.label(cart, is_measured="speed" in names),
            "speed": lambda: answers.speed(*singles.timed(self, cart, call.day)),
            "hub-play": answers.hub_play,
        }
        return [makers[name]() for name in names if name in makers]

    def label(self, cart, *, is_measured):
        batch = fittings.label_batch(cart.fitted_day or self.today)
        more = {"letters": answers.LETTERS[cart.place.values["units"]]} if is_measured else {}
        return answers.label(batch=batch, **more)


def _is_among(joint, only):
    return not only or joint.family in only or joint.name in only
