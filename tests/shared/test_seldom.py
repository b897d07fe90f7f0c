"""Garbage is searched seldom while any wants it so, and as before once none does."""

import gc
from contextlib import ExitStack

import pytest

from shared.seldom import ALLOCATIONS_BETWEEN, seldom_collecting


def test_it_is_seldom_within_and_as_before_afterwards():
    before = gc.get_threshold()

    with seldom_collecting():
        assert gc.get_threshold() == (ALLOCATIONS_BETWEEN, *before[1:])

    assert gc.get_threshold() == before


def test_of_two_at_once_the_last_to_leave_puts_it_back():
    before, one, other = gc.get_threshold(), ExitStack(), ExitStack()

    one.enter_context(seldom_collecting())
    other.enter_context(seldom_collecting())
    one.close()
    assert gc.get_threshold()[0] == ALLOCATIONS_BETWEEN
    other.close()

    assert gc.get_threshold() == before


def test_what_breaks_within_puts_it_back_too():
    before = gc.get_threshold()

    with pytest.raises(ZeroDivisionError), seldom_collecting():
        raise ZeroDivisionError

    assert gc.get_threshold() == before
