"""Rows made anew from the facts: a cart's time, the memory, and against rows merely changed."""

import time
from datetime import date, timedelta

from django.db import transaction

from deploy.bench import backend, pattern
from deploy.bench.child import peak_mib
from deploy.bench.listed import growth, lines
from deploy.bench.pairs import WALL, Figure, Pair
from deploy.bench.years import site_of_years
from fleet.actions import project
from fleet.as_of import BoardThen
from fleet.kinds import Cut
from fleet.management.commands.reproject import batches
from fleet.models import Recheck

CARTS = 400
FEW, MANY = 1_000, 5_000
ROWS = 50
NEVER = date(2090, 1, 1)
A_MONTH = timedelta(days=30)
DATES = ("opens_on", "due_on", "late_on", "stops_on", "earliest_on", "latest_on")


@lines("redating")
def redating(world):
    ids = _carts(world)
    rows = Recheck.objects.filter(cart_id__in=ids)
    with transaction.atomic():
        # each of them differs from the facts, so that all are written
        rows.update(earliest_on=NEVER, latest_on=NEVER)
        yield Pair(
            "redated",
            "rechecks dated anew from their facts, against UPDATE of the same rows",
            2,
            lambda: _taken_back(lambda: rows.update(**dict.fromkeys(DATES, NEVER))),
            lambda: _taken_back(lambda: project.at_once(ids)),
        )
        transaction.set_rollback(True)
    yield Figure(
        "redated-unchanged",
        "rows written where nothing changed",
        0,
        lambda: project.at_once(ids),
        "rows",
    )


@growth("rebuild")
def rebuild(world, small, large):
    acts = [_at(world, scale) for scale in (small, large)]
    yield Pair(
        "rebuilt-cart", f"a cart's rows made anew: {large} against {small} carts", 1.2, *acts
    )


@lines("rebuild-memory")
def rebuild_memory(world):
    name = "deploy.bench.lines.projecting:check_first"
    yield Figure(
        "rebuild-memory",
        f"more memory for {MANY:,} carts made anew than for {FEW:,}",
        8,
        lambda: peak_mib(world, name, str(MANY)) - peak_mib(world, name, str(FEW)),
        "MiB",
    )


@lines("past")
def past(world):
    site, cut = world.sites()[0], _cut(world)
    yield Figure(
        "board-then",
        f"CPU of the board of a site of {pattern.CARTS:,} carts as of a day",
        1,
        lambda: _cpu_seconds(lambda: BoardThen(site, cut, rows=ROWS)),
        "s",
    )


@lines("past-years")
def past_years(world):
    with transaction.atomic():
        site, cut = site_of_years(world), Cut.known_now(world.at_moment - A_MONTH)
        yield Figure(
            "board-of-years",
            "that of carts with three years of readings and of whole rounds behind them",
            1,
            lambda: _cpu_seconds(lambda: BoardThen(site, cut, rows=ROWS)),
            "s",
        )
        transaction.set_rollback(True)


@growth("past-growth")
def past_growth(world, small, large):
    acts = []
    for scale in (small, large):
        with world.at(scale):
            site = world.sites()[0]
        acts.append(_board_then(world, scale, site))
    yield Pair(
        "board-then-growth", f"that board: {large} against {small} carts", 1.2, *acts, by=WALL
    )


def check_first(count):
    """Look at the rows of so many carts, batch by batch as the command does."""
    left = int(count)
    for some in batches(None):
        project.differences(some)
        left -= len(some)
        if left <= 0:
            return


def _board_then(world, scale, site):
    def act():
        with world.at(scale):
            BoardThen(site, _cut(world), rows=ROWS)

    return act


def _cut(world):
    # what the pattern's carts are to have done follows from what was told at this moment
    return Cut(world.at_moment, world.at_moment)


def _at(world, scale):
    with world.at(scale):
        ids = _carts(world)

    def act():
        with world.at(scale):
            project.at_once(ids)

    return act


def _carts(world):
    return list(world.carts(world.sites()[0]).values_list("pk", flat=True)[:CARTS])


def _cpu_seconds(act):
    """Return what an act takes of this process and of its database backend."""
    act()
    begun_s = time.process_time() + backend.cpu_s()
    act()
    return time.process_time() + backend.cpu_s() - begun_s


def _taken_back(act):
    with transaction.atomic():
        act()
        transaction.set_rollback(True)
