"""The site that the benchmark's fleets are copies of, told through the tool's own actions."""

import random
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import UUID, uuid5

from deploy.demo import answers
from deploy.demo.kits import KITS, PLAIN_CART
from deploy.demo.memory import Memory
from fleet.actions import meters, project, register, rounds, sites
from fleet.gather import TOLD_COUNTS
from lifts import actions as lifts
from lifts.actions.fittings import fitting_facts
from lifts.parts.joint_wrenches import Rack
from shared.facts import record_all
from shared.models import Person, Role, Site

AT = datetime(2026, 6, 15, 16, 0, tzinfo=UTC)
SLUG, ZONE = "yard", "America/Phoenix"
CARTS = 1_000
READINGS = 20
HISTORY_DAYS = 400
# one cart in so many has a round of a settle check
ROUND_IN = 12
# how often recurring work is done; now and then a few days late
DONE_EVERY_DAYS = {
    "grease-round": 91,
    "joint-round": 182,
    "label-check": 91,
    "tyre-check": 30,
    "brake-check": 365,
    "speed-run": 365,
    "hub-play": 182,
    "camber-toe": 182,
}
SLACK_DAYS = 2
SEED = UUID("5f0d5c5e-6f0e-4b57-9a6c-2d6c1d1f7a51")
ROLES = (Role.MECHANIC, Role.DESK, Role.SURVEYOR)


def make(carts: int = CARTS) -> Site:
    """Found the site and tell a year of its carts: join, meters, readings, lifts, rounds."""
    begun = AT - timedelta(days=HISTORY_DAYS)
    manager = Person(email=f"manager@{SLUG}.example", name="Manager")
    values = {"slug": SLUG, "name": "Yard", "zone": ZONE, "units": "inch"}
    with project.put_off():
        site = sites.found_site(values, manager, at=begun)
        sites.change_site(site, {"start_day": site.day(AT)}, by=manager, at=begun)
        people = [_person(site, role, manager, begun) for role in ROLES]
        kit = lifts.add_kit(site, KITS[0].value(), by=manager, at=begun)
        lifts.add_kit(site, PLAIN_CART.value(), by=manager, at=begun)
        _carts(site, manager, begun, carts)
        _readings(site, people[0])
        _lifts(site, kit, manager)
        project.now()
        _rounds(site, kit, people[0])
    return site


def _person(site, role, manager, at):
    person = sites.add_person(f"{role}@{SLUG}.example", role.title(), site)
    until = site.day(AT) + timedelta(days=90) if role == Role.SURVEYOR else None
    sites.give_role(site, person, role, site.day(at), until, by=manager, at=at)
    return person


def _carts(site, manager, begun, carts):
    values = {
        cart_id(number): {
            "number": f"{number:04}",
            "plate": uuid5(SEED, f"plate {number}").hex[:20],
            "use_class": "rental",
            "area": f"Row {number % 8}",
            "bay": str(number % 40),
        }
        for number in range(carts)
    }
    register.join_carts(site, values, by=manager, at=begun)
    rows = register.rows(values)
    fitted = [meters.fitted(cart, "hours", 100, unit="h", by=manager) for cart in rows]
    record_all([(fact, ()) for fact in fitted], at=begun)


def cart_id(number: int) -> UUID:
    return uuid5(SEED, f"cart {number}")


def _readings(site, mechanic):
    """Read every cart's meter now and then, each cart with its own use."""
    carts = list(site.carts.order_by("number"))
    a_day = dict(zip((cart.pk for cart in carts), hours_a_day(len(carts)), strict=True))
    every = timedelta(days=HISTORY_DAYS / (READINGS + 1))
    for place in range(READINGS):
        at = AT - timedelta(days=HISTORY_DAYS) + every * (place + 1)
        days = (every * (place + 1)).days
        told = [
            meters.reading(cart, by=mechanic, done_at=at, hours=100 + days * a_day[cart.pk])
            for cart in carts
        ]
        meters.add_readings(told, at=at)


def hours_a_day(carts: int) -> list[Decimal]:
    """Return the hours that each of so many carts runs a day, in the order of their numbers."""
    drawn = random.Random(1)
    return [Decimal(drawn.randint(1, 8)) / 10 for _ in range(carts)]


def _lifts(site, kit, manager):
    """Bring in every cart's lift with the days on which its recurring work was done last."""
    drawn, today = random.Random(2), site.day(AT)
    at = AT - timedelta(days=HISTORY_DAYS - 1)
    facts = []
    for cart in site.carts.order_by("number"):
        fitting = fitting_facts(cart, kit, by=manager, done_at=at, brought_in=True)[0]
        ago = {kind: drawn.randint(1, days + SLACK_DAYS) for kind, days in DONE_EVERY_DAYS.items()}
        told = {kind: (today - timedelta(days=days)).isoformat() for kind, days in ago.items()}
        value = {**told, "fitting": str(fitting.pk)}
        counts = register.change_of(cart.pk, site.pk, TOLD_COUNTS, value, by=manager, done_at=AT)
        facts += [(fitting, ()), (counts, ())]
    record_all(facts, at=AT)
    project.carts([cart.pk for cart in site.carts.all()])


def _rounds(site, kit, mechanic):
    """Save a settle check on some carts, each on a day of its own."""
    carts = site.carts.order_by("number").select_related("site")
    for place, cart in enumerate(carts[::ROUND_IN]):
        visit = settle_check(cart, kit, AT - timedelta(days=10 + (place * 37) % 340))
        rounds.save_round(cart, visit, by=mechanic, at=AT)


def settle_check(cart, kit, done_at, **more) -> rounds.TakenDown:
    """Return a settle check of a cart as taken down: every joint firm, greased, label seen."""
    visit = answers.Attending(cart, cart.site, done_at, "settling", memory=Memory())
    visit.rack = Rack(visit)
    parts = [
        answers.joints(list(kit.joints.all()), lambda joint: {}),
        answers.grease(list(kit.grease_points.all()), 3),
        answers.label(),
    ]
    return rounds.TakenDown(
        id=more.pop("id", None) or uuid5(SEED, f"round {cart.pk} {done_at}"),
        opened_at=done_at - timedelta(minutes=20),
        done_at=done_at,
        parts=[part.ready(visit) for part in parts],
        **more,
    )
