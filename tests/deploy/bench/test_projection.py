"""A cart's age costs its pages no query; facts are read by index; what is right is not written.

What carts share is worked out once, not for each of them.
"""

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from deploy.bench import backend, lived
from deploy.bench.pages import Page, recorded
from fleet.actions import project
from fleet.as_of import BoardThen
from fleet.kinds import Cut
from fleet.models import MeterFitted, Reading, Recheck, Round
from fleet.rulebook import Book, Rule
from fleet.standing import facts_of
from lifts.models import Fitting, JointPart, Look

MONTH = {"days": 30, "visits": 1, "changes": 1}
# more readings and rounds than a page shows
LONG = {"days": 150, "visits": 20, "changes": 20}


def queries(act):
    act()
    with CaptureQueriesContext(connection) as asked:
        act()
    return len(asked)


@pytest.mark.parametrize("view", ["cart-detail", "round-create"])
def test_a_page_asks_as_often_of_an_old_cart_as_of_a_young_one(fleets, view):
    with fleets.at("small"), transaction.atomic():
        by = fleets.mechanic(fleets.sites()[0])
        asked = []
        for number, life in (("young", MONTH), ("old", LONG)):
            cart = lived.lived(fleets, number, **life)
            page = Page(by, reverse(view, args=[cart.site.slug, cart.pk]))
            asked.append(queries(page.get))
        transaction.set_rollback(True)

    assert asked[0] == asked[1]


@pytest.mark.parametrize("count", [1, 5])
def test_facts_of_carts_are_read_by_index(fleets, count):
    with fleets.at("small"):
        ids = list(fleets.carts(fleets.sites()[0]).values_list("pk", flat=True)[:count])
        plans = [backend.plan(*one) for one in recorded(lambda: facts_of(ids))]

        nodes = [node for plan in plans for node in backend.nodes(plan)]
        whole = {node["Relation Name"] for node in nodes if node["Node Type"] == "Seq Scan"}
        large = {table for table in whole if is_large(table)}

    assert len(plans) > 5
    assert large == set()


def is_large(table):
    """Whether a table holds more than the few rows that are sooner read whole."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT reltuples FROM pg_class WHERE relname = %s", [table])
        return cursor.fetchone()[0] > 1_000


def test_rows_that_are_right_are_not_written(fleets):
    with fleets.at("small"):
        ids = list(fleets.carts(fleets.sites()[1]).values_list("pk", flat=True)[:50])
        changed = []
        asked = recorded(lambda: changed.append(project.at_once(ids)))

    verbs = {statement.split()[0] for statement, _values in asked}
    assert changed == [0]
    assert verbs <= {"SELECT", "SAVEPOINT", "RELEASE"}


def test_carts_alike_have_their_rules_chosen_and_their_terms_made_once(fleets, monkeypatch):
    with fleets.at("small"):
        ids = list(fleets.carts(fleets.sites()[0]).values_list("pk", flat=True)[:40])
        project.differences(ids[:1])
        worked_out = counted(monkeypatch, (Book, "_choose"), (Rule, "terms"))

        found = project.differences(ids[1:])

    assert found == []
    assert worked_out == []


def test_a_past_board_makes_no_instance_of_what_there_are_many(fleets, monkeypatch):
    with fleets.at("small"):
        many = (Recheck, MeterFitted, Reading, Round, Fitting, JointPart, Look)
        made = counted(monkeypatch, *((model, "__init__") for model in many))
        board = BoardThen(fleets.sites()[0], Cut(fleets.at_moment, fleets.at_moment), rows=50)

    assert len(board.works) == 50
    assert made == []


def counted(monkeypatch, *methods):
    """Return a list to which each call of the methods adds the method's name."""
    calls = []
    for owner, name in methods:
        own = getattr(owner, name)

        def call(*args, own=own, name=name, **more):
            calls.append(name)
            return own(*args, **more)

        monkeypatch.setattr(owner, name, call)
    return calls
