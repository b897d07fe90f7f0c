"""The board at any size of fleet: the same statements, through the same two indexes."""

import pytest
from django.db import connection, transaction
from django.urls import reverse

from deploy.bench import backend
from deploy.bench.lines.board import board_counts, board_page, buffers_of, looks, statements_of
from deploy.bench.pages import Page
from fleet.workload import load_of

pytestmark = pytest.mark.services
SCALES = ("small", "large")
TABLES = {"fleet_recheck", "fleet_cart"}


def board_load(viewer, site):
    return load_of(viewer, site, site.day(viewer.at))


def nodes_of(ask, look):
    """Return the nodes of the plans of all that a look runs, by what it touches."""
    found = [backend.plan(*one) for one in statements_of(ask, look)]
    return [node for plan in found for node in backend.nodes(plan)]


def read_whole(nodes):
    scans = [node for node in nodes if node["Node Type"] == "Seq Scan"]
    return TABLES & {node["Relation Name"] for node in scans}


def indexes(nodes):
    return {node["Index Name"] for node in nodes if "Index Name" in node}


@pytest.mark.parametrize("scale", SCALES)
def test_counts_are_read_from_their_index_alone(fleets, scale):
    with fleets.at(scale):
        nodes = nodes_of(board_counts, looks(fleets)[0])

    scans = [node for node in nodes if node.get("Index Name") == "recheck_counts"]
    assert {node["Node Type"] for node in scans} == {"Index Only Scan"}
    assert [node["Heap Fetches"] for node in scans] == [0, 0]
    assert read_whole(nodes) == set()


@pytest.mark.parametrize("scale", SCALES)
def test_a_page_is_ranked_in_the_index_of_the_counts(fleets, scale):
    with fleets.at(scale):
        nodes = nodes_of(board_page, looks(fleets)[0])

    [ranked] = [node for node in nodes if node.get("Index Name") == "recheck_counts"]
    assert (ranked["Node Type"], ranked["Heap Fetches"]) == ("Index Only Scan", 0)
    assert read_whole(nodes) == set()


@pytest.mark.parametrize("scale", SCALES)
def test_work_by_week_is_read_from_the_index_of_the_counts_alone(fleets, scale):
    with fleets.at(scale):
        nodes = nodes_of(board_load, looks(fleets)[0])

    [scan] = [node for node in nodes if "Index Name" in node]
    assert (scan["Index Name"], scan["Node Type"]) == ("recheck_counts", "Index Only Scan")
    assert scan["Heap Fetches"] == 0


@pytest.mark.parametrize("ask", [board_page, board_counts])
def test_a_fleet_ten_times_as_large_costs_hardly_more_buffers(fleets, ask):
    touched = []
    for scale in SCALES:
        with fleets.at(scale):
            touched.append(sum(buffers_of(ask, look) for look in looks(fleets)))

    small, large = touched
    assert large <= 1.35 * small


def test_the_board_runs_as_many_statements_whatever_it_shows(fleets):
    counts = {}
    with fleets.at("small"), transaction.atomic():
        site = fleets.sites()[0]
        url = reverse("board", args=[site.slug])
        for asked in ("", "?bay=7&kind=tyre-check", "?bay=nowhere"):
            page = Page(fleets.manager(site), f"{url}{asked}")
            rows = sum(len(one.rows) for one in page.get().context["sections"])
            counts[rows] = len(page.statements())
        transaction.set_rollback(True)

    assert {0, 50} < set(counts)
    assert len(set(counts.values())) == 1, counts


def test_without_its_index_the_board_would_read_more(fleets):
    with fleets.at("small"), transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("DROP INDEX recheck_counts")
        nodes = nodes_of(board_counts, looks(fleets)[0])
        transaction.set_rollback(True)

    assert "recheck_counts" not in indexes(nodes)
    assert not [node for node in nodes if node["Node Type"] == "Index Only Scan"]
