"""What one thing costs by itself: from these DEVELOPERS.md works out what a day costs.

They have no limit: they are for adding up, not for comparing.
"""

import time
from datetime import timedelta
from decimal import Decimal
from math import inf

from django.db import connection, transaction
from django.test import Client
from django.urls import reverse

from deploy.bench import backend
from deploy.bench.listed import lines
from deploy.bench.pairs import Figure
from deploy.bench.pattern import settle_check
from fleet.actions import meters, rounds
from fleet.models import Reading, Recheck
from lifts.models import Kit
from shared.models import Entry, new_id

TIMES = 50
ROUNDS = 20
KIB = 1024


@lines("capacity")
def capacity(world):
    site = world.sites()[0]
    carts = list(world.carts(site)[:TIMES])
    by, at = world.mechanic(site), world.at_moment

    def read_meters():
        for cart in carts:
            shown = cart.hours_shown + Decimal(1)
            meters.add_reading(cart, by=by, at=at, hours=shown)

    def save_rounds():
        kit = Kit.objects.current().filter(site=site).order_by("-rise_front_mm").first()
        for cart in carts[:ROUNDS]:
            visit = settle_check(cart, kit, at - timedelta(minutes=5), id=new_id())
            rounds.save_round(cart, visit, by=by, at=at)

    def look():
        client = Client(SERVER_NAME="localhost")
        client.force_login(world.manager(site))
        for _ in range(ROUNDS):
            assert client.get(reverse("board", args=[site.slug])).status_code == 200

    yield _figure("CPU a reading", "ms", lambda: 1000 * _cpu_s(read_meters) / TIMES)
    yield _figure("WAL a reading", "KiB", lambda: _wal_bytes(read_meters) / TIMES / KIB)
    yield _figure("disk a reading", "bytes", lambda: _bytes_a_row(Reading) + _bytes_a_row(Entry))
    yield _figure("CPU a round", "ms", lambda: 1000 * _cpu_s(save_rounds) / ROUNDS)
    yield _figure("WAL a round", "KiB", lambda: _wal_bytes(save_rounds) / ROUNDS / KIB)
    yield _figure("CPU a board page", "ms", lambda: 1000 * _cpu_s(look) / ROUNDS)
    yield _figure("disk a recheck", "bytes", lambda: _bytes_a_row(Recheck))


def _figure(name, unit, find):
    return Figure(name.replace(" ", "-").lower(), f"{name}, {unit}", inf, find, unit)


def _undone(act):
    with transaction.atomic():
        act()
        transaction.set_rollback(True)


def _cpu_s(act):
    """Return the CPU seconds of an act and of its backend; the first go is not counted."""
    _undone(act)
    begun = time.process_time() + backend.cpu_s()
    _undone(act)
    return time.process_time() + backend.cpu_s() - begun


def _wal_bytes(act):
    """Return the bytes of log; the first go writes whole pages, as after each checkpoint."""
    _undone(act)
    before = _ask("SELECT pg_current_wal_insert_lsn() - '0/0'")
    _undone(act)
    return float(_ask("SELECT pg_current_wal_insert_lsn() - '0/0'") - before)


def _bytes_a_row(model):
    table = model._meta.db_table
    rows = model._base_manager.count()
    return _ask(f"SELECT pg_total_relation_size('{table}')") / rows


def _ask(statement):
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchone()[0]
