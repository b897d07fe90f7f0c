"""Loads the demo fleet: two places, their people and kits, 14 months of history."""

from collections import defaultdict
from datetime import timedelta
from decimal import Decimal
from uuid import uuid5

from django.db import transaction

from deploy.demo import (
    afterwards,
    kit_figures,
    label_photos,
    singles,
    turns,
    wheel_stories,
    wrenches,
)
from deploy.demo.carts import HISTORY_DAYS, SEED, STANDARD_TYRE_MM, the_fleet
from deploy.demo.kits import KITS, PLAIN_CART
from deploy.demo.places import PASSWORDS, RESORT, VILLAGE
from deploy.demo.story import Story
from fleet.actions import meters, project, register, sites
from lifts import actions as lift_actions
from shared.clock import moment_of
from shared.models import Checkpoint, Person, Site
from shared.sealing import make_checkpoint
from shared.seldom import seldom_collecting

READING_DAYS, PLAIN_READING_DAYS = 7, 21
CHECKPOINT_DAYS = 7
# none so late that it is owed to anybody by mail, but for the one of the last day
LAST_WEEKLY_DAYS_AGO = 4


@transaction.atomic
@seldom_collecting()
def load(at):
    """Load everything; the same on the same day."""
    today = at.date()
    begun = at - timedelta(days=HISTORY_DAYS)
    people = {}
    with project.put_off():
        for place in (RESORT, VILLAGE):
            _found(place, people, begun)
        project.now()
        carts = the_fleet(today)
        _join(carts, people, begun)
        project.now()
        story = Story(today, people, carts)
        _plan(story)
        story.tell()
    for place in (RESORT, VILLAGE):
        _seal(place)(at)


def _found(place, people, begun):
    slug = place.values["slug"]
    founder = Person(email=place.people[0][2], name=place.people[0][1])
    site = sites.found_site(place.values, founder, at=begun, password=PASSWORDS["manager"])
    sites.change_site(site, {"start_day": site.day(begun)}, by=founder, at=begun)
    people[slug, "manager"] = [founder]
    for role, name, email in place.people[1:]:
        person = sites.add_person(email, name, site, password=PASSWORDS[role])
        until = site.day(begun) + timedelta(days=HISTORY_DAYS + 120) if role == "surveyor" else None
        sites.give_role(site, person, role, site.day(begun), until, by=founder, at=begun)
        people.setdefault((slug, role), []).append(person)
    for kit in (*KITS, PLAIN_CART):
        lift_actions.add_kit(site, kit.value(), by=founder, at=begun)
    kit_figures.tell(site, by=founder, at=begun)
    wrenches.hang_up(site, by=founder, at=begun)
    singles.hold_to_class(site, by=founder, at=begun)


def _join(carts, people, begun):
    """Take all carts in, then fit their meters."""
    by_slug = defaultdict(list)
    for cart in carts:
        by_slug[cart.place.values["slug"]].append(cart)
    for slug, own in by_slug.items():
        site = Site.objects.get(slug=slug)
        by = people[slug, "manager"][0]
        values = [{**cart.values, "plate": _plate(cart)} for cart in own]
        ids = [cart.cart_id for cart in own]
        register.join_carts(site, dict(zip(ids, values, strict=True)), by=by, at=begun)
        for cart, row in zip(own, register.rows(ids), strict=True):
            _fit_meters(cart, row, by, begun)


def _plate(cart):
    return uuid5(SEED, f"plate {cart.cart_id}").hex[:20]


def _fit_meters(cart, row, by, at):
    unit = "mi" if cart.place is RESORT else "km"
    meters.fit_meter(row, "hours", cart.hours_shown(cart.start), unit="h", by=by, at=at)
    meters.fit_meter(
        row,
        "distance",
        cart.distance_shown(cart.start),
        unit=unit,
        by=by,
        at=at,
        wheel_driven=True,
        set_for_mm=STANDARD_TYRE_MM,
        rolls_at=Decimal(99999),
    )


def _plan(story):
    turns.plan(story)
    afterwards.plan(story)
    label_photos.plan(story)
    wrenches.plan(story)
    singles.plan(story)
    wheel_stories.plan(story)
    for cart in story.carts:
        if cart.fitted_day:
            story.plan_lift(cart)
    for place in (RESORT, VILLAGE):
        for ago in range(HISTORY_DAYS - 7, 0, -READING_DAYS):
            day = story.today - timedelta(days=ago)
            at = moment_of(day, 18, place.values["zone"])
            story.add(at, _readings(story, place, day, ago))
        for ago in range(LAST_WEEKLY_DAYS_AGO, HISTORY_DAYS, CHECKPOINT_DAYS):
            day = story.today - timedelta(days=ago)
            story.add(moment_of(day, 20, place.values["zone"]), _seal(place))


def _seal(place):
    def act(at):
        site = Site.objects.get(slug=place.values["slug"])
        make_checkpoint(site, at=at, cause=Checkpoint.Cause.DAILY)

    return act


def _readings(story, place, day, ago):
    def act(at):
        by = story.people[place.values["slug"], "mechanic"][0]
        own = [cart for cart in story.carts if cart.place is place and _is_read(cart, day, ago)]
        rows = register.rows([cart.cart_id for cart in own])
        readings = [
            meters.reading(
                row,
                by=by,
                id=uuid5(cart.cart_id, f"reading {day}"),
                source="sheet",
                **story.shown(cart, day),
            )
            for cart, row in zip(own, rows, strict=True)
        ]
        meters.add_readings(readings, at=at)
        for cart in own:
            story.alignments.saw_meters(cart, day)

    return act


def _is_read(cart, day, ago):
    every = READING_DAYS if cart.kit_code else PLAIN_READING_DAYS
    return ago % every == 5 and cart.is_running(day)
