"""What it costs to claim the notices of a morning, and to look again when nothing is new."""

import time
from contextlib import contextmanager

from django.db import connection, transaction

from deploy.bench.listed import lines
from deploy.bench.pairs import Figure, Pair
from fleet.actions import news, notices
from fleet.models import Notice
from fleet.reminding import site_days
from shared.facts import CLOCKS_DIFFER

CLAIMED_AT_ONCE = 3
COLUMNS = "site_id, made_at, about, cart_id, stage, day, person_id, at_once, attempts, dropped"
SAME_ROWS = f"INSERT INTO fleet_notice ({COLUMNS}) SELECT {COLUMNS} FROM owed"
OWE = f"""
    INSERT INTO owed (id, deaths, doubtful, last_fault, is_dead, {COLUMNS})
    VALUES (0, 0, 0, '', false, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s)
"""


@lines("sweep")
def sweep(world):
    at = world.at_moment
    ids = {site.pk for site in world.sites()}
    everywhere = site_days(at)
    days = {pk: here for pk, here in everywhere.items() if pk in ids}
    with _nothing_told(days, at):
        yield Pair(
            "sweep-claimed",
            "notices of ten sites found and claimed, against INSERT of the same rows alone",
            2,
            lambda: _undone(lambda: _execute(SAME_ROWS)),
            lambda: _undone(lambda: _made_anew(days, at)),
        )
        _made_anew(days, at)
        yield Figure(
            "sweep-again-rows",
            "notices that a second claim of the same morning writes",
            0,
            lambda: _made_anew(days, at),
            "rows",
        )
        # by then no fact counts only later
        first_s, again_s = _looks_s(everywhere, at + CLOCKS_DIFFER)
        yield Figure(
            "sweep-first",
            "the first look of a process at all sites, where all was told",
            60,
            lambda: first_s,
            "s",
        )
        yield Figure(
            "sweep-again",
            "a look at all sites of the fleet where nothing is new",
            5,
            lambda: again_s,
            "s",
        )


@contextmanager
def _nothing_told(days, at):
    """Take all notices of the sites away until the end, what they owe kept in ``owed``."""
    with transaction.atomic():
        Notice.objects.filter(site_id__in=days).delete()
        _execute("CREATE TEMPORARY TABLE owed (LIKE fleet_notice) ON COMMIT DROP")
        for row in _made(days, at):
            _execute(OWE, row)
        _execute("SET CONSTRAINTS ALL IMMEDIATE")
        yield
        transaction.set_rollback(True)


def _made(days, at):
    """Return the notices that the sites owe; rolled back, they leave no rows behind."""
    with transaction.atomic():
        _made_anew(days, at)
        made = Notice.objects.filter(site_id__in=days).order_by("about", "stage", "person")
        rows = list(made.values_list(*COLUMNS.split(", ")))
        transaction.set_rollback(True)
    return rows


def _made_anew(days, at):
    news.forget()
    return notices.make(days, at=at)


def _undone(act):
    for _ in range(CLAIMED_AT_ONCE):
        with transaction.atomic():
            act()
            transaction.set_rollback(True)


def _looks_s(everywhere, at):
    """Return the seconds of a new process's first look and of its next; all is written before."""
    notices.make(everywhere, at=at)
    news.forget()
    return _made_s(everywhere, at), _made_s(everywhere, at)


def _made_s(everywhere, at):
    begun_s = time.perf_counter()
    notices.make(everywhere, at=at)
    return time.perf_counter() - begun_s


def _execute(statement, values=()):
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
