"""Tells the demo's 14 months through the actions, in order of time."""

import heapq
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import count
from random import Random
from uuid import uuid5

from deploy.demo import answers
from deploy.demo.carts import BIG_TYRE_MM, SEED, DemoCart
from deploy.demo.visits import Call, calls_of
from fleet.actions import meters, rounds
from fleet.models import Cart
from lifts import actions as lift_actions
from lifts.models import Kit
from shared.clock import moment_of

FULL = ("joints", "grease", "tyres", "camber-toe", "brake", "label")
WORK = {
    "close-out": (*FULL, "stop-run", "speed"),
    "first": ("joints", "brake", "label"),
    "settle": FULL,
    "second-settle": ("joints", "camber-toe"),
    "grease": ("grease", "tyres", "label"),
    "joints and grease": ("joints", "grease", "tyres", "label"),
    "everything": (*FULL, "stop-run", "speed", "hub-play"),
    "repeat": ("joints",),
    "short": ("joints", "label"),
}
SETTLING = ("close-out", "first", "settle", "second-settle")


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

    def at(self, place, day, hour) -> datetime:
        return moment_of(day, hour, place.values["zone"])

    def ago(self, days) -> date:
        return self.today - timedelta(days=days)

    def cart(self, number) -> DemoCart:
        return next(cart for cart in self.carts if cart.number == number and not cart.key)

    def add(self, at: datetime, act: Callable):
        heapq.heappush(self.queue, (at, self.order(), act))

    def act(self, cart, days_ago, hour, act):
        """Plan ``act(row, at)`` at a cart."""
        at = self.at(cart.place, self.ago(days_ago), hour)
        self.add(at, lambda at: act(self.row(cart), at))

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
        lift_actions.fit(
            row,
            self.kit(cart),
            by=by,
            at=at,
            id=uuid5(cart.cart_id, f"fitting {cart.fitted_day}"),
            fitted_by=by.name,
            firm="own shop",
            paperwork="full",
            tyre_before="18x8.5-8",
            tyre_before_mm=Decimal("457.2"),
            tyre_after="22x11-10",
            tyre_after_mm=BIG_TYRE_MM,
        )

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
        self,
        cart,
        call: Call,
        at,
        *,
        by=None,
        found=None,
        parts=None,
        families=None,
        on=None,
        **more,
    ):
        """Save a round as the call says; findings may call for another visit.

        ``on`` is the cart that it is written on, when that is the wrong one.
        """
        by = by or self.someone(cart, "mechanic")
        looks = found or self.findings(call.work)
        parts = parts or self.parts(cart, call, looks, families)
        taken = self.taken_down(cart, call, at, parts, **more)
        saved = rounds.save_round(self.row(on or cart), taken, by=by, at=at)
        for outcome in saved.outcomes:
            self._follow_up(cart, call, outcome)
        return saved

    def taken_down(self, cart, call, at, parts, **more) -> rounds.TakenDown:
        """Return a visit as a mechanic takes it down; ``more`` outdoes what it says."""
        said = {
            "id": uuid5(SEED, f"{cart.cart_id} {call.day} {call.work}"),
            "opened_at": at - timedelta(minutes=self.random.randrange(6, 35)),
            "identified": "scanned",
            "cautions_seen": True,
            "parts": [(part, None) for part in parts],
            **self.shown(cart, call.day),
        }
        return rounds.TakenDown(**{**said, **more})

    def _follow_up(self, cart, call, outcome):
        events = {start.event for start in outcome.starts}
        if "lug-took-up" in events:
            self._again(cart, call, 1, {"lugs"})
        if "u-bolt-took-up" in events:
            self._again(cart, call, 3, {"u-bolts"})

    def _again(self, cart, call, days, families):
        day = call.day + timedelta(days=days)
        if day <= min(cart.visits_until, self.today - timedelta(days=1)):
            self.add_call(cart, Call(day, "repeat"), 14, families=families)

    def findings(self, work):
        """Return how a look turns out: bedding takes up early, hardly ever later."""

        def found_at(joint):
            chance = self.random.random()
            if joint.family == "u-bolts" and work in ("first", "settle") and chance < 0.14:
                return {"found": "took up", "moved_twelfths": 1, "action": "tightened"}
            if joint.family == "lugs" and work == "first" and chance < 0.04:
                return {"found": "took up", "moved_twelfths": 1, "action": "tightened"}
            if joint.thread_locker and chance < 0.01:
                return {"found": "took up", "moved_twelfths": 2, "action": "relocked"}
            return {}

        return found_at

    def parts(self, cart, call, looks, families):
        names = (*WORK[call.work], *call.also)
        kit_joints, points = self.parts_of_kit(cart)
        wanted = [j for j in kit_joints if families is None or j.family in families]
        stage = "settling" if call.work in SETTLING else "recurring"
        makers = {
            "joints": lambda: answers.joints(wanted, stage, "W-2", looks),
            "grease": lambda: answers.grease(points, self.random.randrange(2, 5)),
            "tyres": lambda: answers.tyres(self.random.choice((20, 21, 22))),
            "camber-toe": lambda: answers.camber_toe(
                Decimal(self.random.choice(("-0.2", "0.0", "0.1"))), self.random.choice((5, 6, 7))
            ),
            "brake": lambda: answers.brake(stop_runs="stop-run" in names),
            "label": answers.label,
            "speed": lambda: answers.speed(Decimal(self.random.choice(("14.3", "14.6", "15.0")))),
            "hub-play": answers.hub_play,
        }
        return [makers[name]() for name in names if name in makers]
