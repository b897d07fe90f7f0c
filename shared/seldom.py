"""Python's search for cyclic garbage, made seldom while much is gone through.

Rows make none, and looking each of them over took a tenth to a sixth of the work.
"""

import gc
from contextlib import contextmanager
from threading import Lock

ALLOCATIONS_BETWEEN = 20_000


class _Within:
    """How many are within at once, in whatever thread, and how often was searched before."""

    count = 0
    before = ()
    lock = Lock()


@contextmanager
def seldom_collecting():
    """Search seldom within; as often as before once the last one that wants it has left."""
    with _Within.lock:
        if not _Within.count:
            _Within.before = gc.get_threshold()
            gc.set_threshold(ALLOCATIONS_BETWEEN, *_Within.before[1:])
        _Within.count += 1
    try:
        yield
    finally:
        with _Within.lock:
            _Within.count -= 1
            if not _Within.count:
                gc.set_threshold(*_Within.before)
