"""Every list of the demo fleet is drawn byte by byte as django_tables2 would draw it."""

import pytest
from django.urls import reverse

from shared import clock
from shared.models import Person
from shared.tables import BaseTable
from tests.cell_by_cell import cell_by_cell
from tests.deploy.demo.told import TOLD_AT

LISTS = {
    "cart-list": 50,
    "kit-list": 4,
    "label-list": 10,
    "people": 4,
    "round-start": 2,
    "rule-book": 1,
    "seal": 20,
    "surveyor-list": 1,
    "tag-list": 2,
    "wrench-list": 3,
}


@pytest.mark.parametrize("name", LISTS)
def test_a_list_is_drawn_as_django_tables2_draws_it(name, client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: TOLD_AT)
    client.force_login(Person.objects.get(email="manager@brindlewick.example"))

    response = client.get(reverse(name, args=["brindlewick"]))

    tables = tables_in(response.context)
    assert sum(len(table.paginated_rows) for table in tables) >= LISTS[name]
    shown = set(response.content.decode().splitlines())
    wanted = [line for table in tables for line in cell_by_cell(table).splitlines()]
    assert [line for line in wanted if line not in shown] == []


def tables_in(context):
    found = [value for layer in context for value in layer.flatten().values()]
    return list({id(one): one for one in found if isinstance(one, BaseTable)}.values())
