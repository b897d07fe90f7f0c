"""Rows of a long sheet, kept on disk."""

import random
import tracemalloc

import pytest

from fleet.importing import spool
from fleet.importing.spool import Sorted, Spool

ROWS = [(number % 7, number, f"row {number}", None) for number in range(23)]


@pytest.fixture
def small(monkeypatch):
    """A few rows fill what is held, and a block."""
    monkeypatch.setattr(spool, "HELD_ROWS", 5)
    monkeypatch.setattr(spool, "BLOCK_ROWS", 2)


def kept(spool_of, rows):
    made = spool_of()
    for row in rows:
        made.add(row)
    return made


@pytest.mark.parametrize("count", [0, 4, 5, 6, 23])
def test_a_spool_gives_back_its_rows_as_often_as_wanted(small, count):
    made = kept(Spool, ROWS[:count])

    assert (list(made), list(made), made.count) == (ROWS[:count], ROWS[:count], count)


@pytest.mark.parametrize("count", [0, 4, 5, 6, 23])
def test_sorted_gives_them_back_in_order(small, count):
    mixed = random.Random(1).sample(ROWS[:count], count)

    made = kept(Sorted, mixed)

    assert (list(made), list(made)) == (sorted(ROWS[:count]), sorted(ROWS[:count]))


@pytest.mark.parametrize("spool_of", [Spool, Sorted])
def test_memory_does_not_grow_with_the_rows(spool_of):
    assert peak_bytes(spool_of, 60_000) - peak_bytes(spool_of, 20_000) < 2_000_000


def peak_bytes(spool_of, count):
    tracemalloc.start()
    try:
        made = kept(spool_of, ((number % 9, number, f"row {number}") for number in range(count)))
        assert sum(1 for _row in made) == count
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
