"""A cart with years of facts behind it, beside one with a month of them."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid5

from deploy.bench import pattern
from fleet.actions import meters, project, register, rounds
from lifts import actions as lifts
from lifts.models import Kit

MONTH_DAYS, MONTH_ROUNDS, MONTH_CHANGES = 30, 1, 1
YEARS_DAYS, YEARS_ROUNDS, YEARS_CHANGES = 3_650, 120, 40
HOURS_A_DAY = Decimal("1.3")
SETTLED = timedelta(hours=1)


def a_month(world):
    return lived(world, "a month", MONTH_DAYS, MONTH_ROUNDS, MONTH_CHANGES)


def ten_years(world):
    return lived(world, "ten years", YEARS_DAYS, YEARS_ROUNDS, YEARS_CHANGES)


def lived(world, number, days, visits, changes):
    """Tell the life of one more cart: a reading a day, so many rounds, so many other bays."""
    site, manager, at = world.sites()[0], world.manager(world.sites()[0]), world.at_moment
    kit = max(Kit.objects.filter(site=site), key=lambda kit: kit.joints.count())
    begun = at - timedelta(days=days)
    with project.put_off():
        cart = joined(site, number, manager, begun)
        lifts.fit(cart, kit, by=manager, at=at, done_at=begun + SETTLED)
        meters.add_readings(list(_readings(cart, manager, begun, days)), at=at)
        for place in range(visits):
            done_at = begun + timedelta(days=(place + 1) * (days - 2) / visits)
            rounds.save_round(cart, pattern.settle_check(cart, kit, done_at), by=manager, at=at)
        for place in range(changes):
            moved_at = begun + timedelta(days=(place + 1) * (days - 1) / changes)
            bay = {"bay": str(place)}
            register.change_cart(cart, "bay", bay, by=manager, at=at, done_at=moved_at)
    return register.rows([cart.pk])[0]


def joined(site, number, manager, begun):
    cart_id = uuid5(pattern.SEED, number)
    values = {"number": number, "plate": cart_id.hex[:20], "use_class": "rental"}
    register.join_carts(site, {cart_id: values}, by=manager, at=begun)
    cart = register.rows([cart_id])[0]
    meters.fit_meter(cart, "hours", 100, unit="h", by=manager, at=begun)
    return cart


def _readings(cart, manager, begun, days):
    for day in range(1, days):
        done_at = begun + timedelta(days=day, hours=-(day % 5))
        yield meters.reading(cart, by=manager, done_at=done_at, hours=100 + day * HOURS_A_DAY)
