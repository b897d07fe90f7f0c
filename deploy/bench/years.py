"""A site with three years behind each of its carts: a few are told, the rest are their copies.

Each has a reading every three weeks, as the pattern's carts have, and a whole round each
quarter, taken down when it was done. Copies have facts and entries alone.
"""

from datetime import timedelta

from django.db import connection
from django.db.models import AutoField

from deploy.bench import copies, pattern
from deploy.bench.lived import HOURS_A_DAY, joined
from deploy.demo.kits import KITS
from fleet.actions import meters, project, rounds, sites
from fleet.models import Cart
from fleet.models.facts import CartFact
from lifts import actions as lifts
from shared.models import Change, Entry, Line, Site

YEARS_DAYS, READ_EVERY_DAYS, ROUND_EVERY_DAYS = 1_095, 20, 91
CARTS_TOLD, COPIES = 4, 249
# a copy's entries lie behind those of the copy before
SEQ_BETWEEN = 1_000_000


def site_of_years(world) -> Site:
    """Return the site, made within the caller's transaction."""
    begun = world.at_moment - timedelta(days=YEARS_DAYS)
    manager = world.manager(world.sites()[0])
    values = {"slug": "years", "name": "Years", "zone": pattern.ZONE, "units": "inch"}
    with project.put_off():
        site = sites.found_site(values, manager, at=begun)
        kit = lifts.add_kit(site, KITS[0].value(), by=manager, at=begun)
        carts = [joined(site, f"years {n}", manager, begun) for n in range(CARTS_TOLD)]
        for cart in carts:
            lifts.fit(cart, kit, by=manager, at=begun, done_at=begun)
        for day in range(1, YEARS_DAYS):
            _day(carts, kit, manager, begun, day)
    _multiply(site)
    return site


def _day(carts, kit, manager, begun, day):
    """Tell a day's readings and rounds: what is told in time needs no countersign."""
    at = begun + timedelta(days=day)
    if day % READ_EVERY_DAYS == 0:
        hours = 100 + day * HOURS_A_DAY
        told = [meters.reading(cart, by=manager, done_at=at, hours=hours) for cart in carts]
        meters.add_readings(told, at=at)
    if day % ROUND_EVERY_DAYS == 0:
        for cart in carts:
            visit = pattern.settle_check(cart, kit, at)
            rounds.save_round(cart, visit, by=manager, at=at + timedelta(minutes=1))


def _multiply(site):
    with connection.cursor() as cursor:
        cursor.execute(copies.COPIED_ID)
        # neither foreign keys nor triggers are asked, as in a restore
        cursor.execute("SET LOCAL session_replication_role = replica")
        models = _models()
        for model in models:
            cursor.execute(_insertion(model, models), {"site": site.pk, "copies": COPIES})
        cursor.execute("SET LOCAL session_replication_role = origin")
        cursor.execute("ANALYZE")


def _models():
    """Return the models of what is told of carts: lines first, which name facts told alone."""
    told = [model for model in copies.tables() if issubclass(model, (Line, CartFact))]
    return [*sorted(told, key=lambda model: issubclass(model, CartFact)), Change, Entry]


def _insertion(model, models):
    """Return the statement that adds the copies of what a model tells of the site's carts."""
    fields = [f for f in model._meta.concrete_fields if not isinstance(f, AutoField)]
    names = ", ".join(f'"{field.column}"' for field in fields)
    values = ", ".join(_value(model, field, models) for field in fields)
    return (
        f"INSERT INTO {model._meta.db_table} ({names}) SELECT {values}"
        f" FROM {model._meta.db_table} p, generate_series(1, %(copies)s) AS k WHERE {_of(model)}"
    )


def _of(model):
    if not issubclass(model, Line):
        return "p.site_id = %(site)s AND p.cart_id IS NOT NULL"
    facts = model._meta.get_field("fact").related_model._meta.db_table
    return f"p.fact_id IN (SELECT id FROM {facts} WHERE site_id = %(site)s)"


def _value(model, field, models):
    if (model, field.column) == (Entry, "seq"):
        return f"p.seq + k * {SEQ_BETWEEN}"
    # sites, people and kits are the same for all
    is_shared = field.is_relation and field.related_model not in (Cart, *models)
    if is_shared or field.db_type(connection) != "uuid":
        return f'p."{field.column}"'
    return copies.COPIED.format(field.column)
