"""Writing facts: statements by batch, never by line or joint; memory not by the sheet's size."""

import tracemalloc
from contextlib import contextmanager

import pytest
from django.db import connection, transaction

from deploy.bench.lines import importing, rounds
from fleet.importing import readings, spool
from fleet.models import Reading
from shared.models import Entry

MIB = 2**20


@contextmanager
def taken_back():
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def brought_in(site, path):
    """Bring a sheet in and keep it; return how many rows were new, and the statements."""
    asked = []

    def note(execute, sql, params, many, context):
        asked.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        counts = importing.brought_in(site, path)
    return counts.get("new", 0), len(asked)


@pytest.mark.parametrize(("joints", "copied"), [(2, 0), (22, 0), (50, 1)])
def test_a_round_takes_as_many_statements_however_many_its_joints(fleets, joints, copied):
    with fleets.at("small"):
        saving = rounds.Saving(fleets, joints)
        # the first in a process asks for the code of the kit, too
        saving.statements()

        # from fifty rows on, a table's INSERT is a COPY, which is not noted
        assert len(saving.statements()) == len(rounds.Saving(fleets, 8).statements()) - copied

        assert saving.joints == joints


def test_an_import_asks_by_batch(fleets, tmp_path):
    few = importing.sheet(tmp_path / "few.csv", 200, carts=50)
    more = importing.sheet(tmp_path / "more.csv", 2_000, carts=50)
    with fleets.at("small"):
        site = fleets.sites()[0]
        with taken_back():
            of_few = brought_in(site, few)
        with taken_back():
            of_more = brought_in(site, more)

    # one batch of facts more, each with locks, ids and a savepoint
    assert (of_few[0], of_more[0]) == (200, 2_000)
    assert of_more[1] - of_few[1] <= 15


def test_the_same_import_again_writes_nothing(fleets, tmp_path):
    path = importing.sheet(tmp_path / "readings.csv", 2_000, carts=100)
    with fleets.at("small"), taken_back():
        site = fleets.sites()[0]
        brought_in(site, path)
        before = Reading.objects.count(), Entry.objects.count()

        new, _statements = brought_in(site, path)

        assert (new, Reading.objects.count(), Entry.objects.count()) == (0, *before)


@pytest.fixture
def few_at_once(monkeypatch):
    """Hold and file a tenth of what is held and filed at once, so that short sheets are long."""
    monkeypatch.setattr(spool, "HELD_ROWS", spool.HELD_ROWS // 10)
    for name in ("BATCH_CARTS", "BATCH_LINES", "BATCH_FACTS"):
        monkeypatch.setattr(readings, name, getattr(readings, name) // 10)


def test_memory_does_not_grow_with_the_sheet(fleets, tmp_path, few_at_once):
    few = importing.sheet(tmp_path / "few.csv", 2_000, carts=100)
    more = importing.sheet(tmp_path / "more.csv", 4_000, carts=100)
    with fleets.at("small"):
        site = fleets.sites()[0]
        with taken_back():
            # the first in a process works out much that stays
            brought_in(site, few)
        grown = peak_bytes(site, more) - peak_bytes(site, few)

    assert grown < 0.4 * MIB


def peak_bytes(site, path):
    tracemalloc.start()
    try:
        with taken_back():
            importing.brought_in(site, path)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
