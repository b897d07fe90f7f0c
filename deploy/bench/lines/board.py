"""The board: its SQL at any size of fleet, and its whole request."""

from django.db import connection
from django.urls import reverse

from deploy.bench import backend
from deploy.bench.listed import growth, lines
from deploy.bench.pages import against_raw, recorded
from deploy.bench.pairs import WALL, Figure, Pair
from fleet.board import counts_of, first_rows, rows_of, work_of
from fleet.board_rows import PAGE_ROWS
from shared.viewer import Viewer

TIMES = 20
REQUESTS = 20


@lines("board")
def board(world):
    site = world.sites()[0]
    url = reverse("board", args=[site.slug])
    about = "the board's whole request, against a view with its SQL and no template"
    yield against_raw("board-request", about, 4, world.manager(site), url, REQUESTS)


@growth("board-growth")
def board_growth(world, small, large):
    for name, ask in (("page", board_page), ("counts", board_counts)):
        yield Pair(
            f"board-{name}",
            f"the board's {name} in SQL at {large}, against {small}",
            1.2,
            _asked(world, small, ask),
            _asked(world, large, ask),
            by=WALL,
        )
        yield Figure(
            f"board-{name}-buffers",
            f"buffers that the board's {name} touch at {large}, against {small}",
            1.35,
            _buffers_grown(world, small, large, ask),
            "x",
        )


def board_page(viewer, site):
    """Read a page of the board as its view does."""
    work = work_of(viewer, site, site.day(viewer.at))
    return list(rows_of(first_rows(work, None, PAGE_ROWS + 1)))


def board_counts(viewer, site):
    return counts_of(viewer, site, site.day(viewer.at))


def looks(world):
    """Return (viewer, site) for the managers of the sites that are measured."""
    return [(Viewer(world.manager(site), world.at_moment), site) for site in world.sites()]


def _asked(world, scale, ask):
    with world.at(scale):
        statements = [one for look in looks(world) for one in statements_of(ask, look)]

    def asks():
        with world.at(scale):
            for _ in range(TIMES):
                run_all(statements)

    return asks


def statements_of(ask, look):
    """Return what a look runs once its viewer's roles are known."""
    ask(*look)
    return recorded(lambda: ask(*look))


def run_all(statements):
    with connection.cursor() as cursor:
        for statement, values in statements:
            cursor.execute(statement, values)
            cursor.fetchall()


def _buffers_grown(world, small, large, ask):
    def grown():
        found = []
        for scale in (small, large):
            with world.at(scale):
                found.append(sum(buffers_of(ask, look) for look in looks(world)))
        return found[1] / found[0]

    return grown


def buffers_of(ask, look) -> int:
    """Return how many buffers the statements of a look touch."""
    return sum(backend.buffers(backend.plan(*one)) for one in statements_of(ask, look))
