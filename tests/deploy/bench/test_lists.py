"""Lists at any size of fleet: as many statements for one row as for a page of them."""

import pytest
from django.db import transaction
from django.urls import reverse

from deploy.bench import backend
from deploy.bench.lines.desk import joined
from deploy.bench.pages import Page

pytestmark = pytest.mark.services


def asked(fleets, name, role="manager", query=""):
    site = fleets.sites()[1]
    person = getattr(fleets, role)(site)
    return Page(person, reverse(name, args=[site.slug]) + query)


def test_the_cart_list_runs_as_many_statements_for_one_row_as_for_fifty(fleets):
    with fleets.at("small"), transaction.atomic():
        pages = [asked(fleets, "cart-list", query=query) for query in ("?number=0007", "")]
        rows = [len(page.get().context["table"].paginated_rows) for page in pages]
        counts = [len(page.statements()) for page in pages]
        transaction.set_rollback(True)

    assert rows == [1, 50]
    assert counts[0] == counts[1]


LISTS = [("cart-list", "manager", ""), ("cart-list", "manager", "?number=7"), ("desk", "desk", "")]


@pytest.mark.parametrize(("name", "role", "query"), LISTS)
def test_a_list_reads_no_large_table_whole(fleets, name, role, query):
    with fleets.at("large"), transaction.atomic():
        plans = [backend.plan(*one) for one in asked(fleets, name, role, query).statements()]
        transaction.set_rollback(True)

    nodes = [node for plan in plans for node in backend.nodes(plan)]
    scanned = {node["Relation Name"] for node in nodes if node["Node Type"] == "Seq Scan"}
    assert scanned & {"fleet_cart", "fleet_recheck"} == set()


def test_the_desk_runs_as_many_statements_for_a_site_three_times_as_large(fleets):
    with fleets.at("small"):
        first, *others = fleets.sites()[-3:]
        page = Page(fleets.desk(first), reverse("desk", args=[first.slug]))
        rows, counts = [len(page.get().context["rows"])], [len(page.statements())]
        with joined(first, others):
            rows.append(len(page.get().context["rows"]))
            counts.append(len(page.statements()))

    assert rows == [fleets.each, 3 * fleets.each]
    assert counts[0] == counts[1]
