"""Python's search for cyclic garbage, made seldom while a long sheet is gone through.

Its rows make none, and looking each of them over took a tenth of the work.
"""

import gc
from contextlib import contextmanager

ROWS_BETWEEN = 20_000


@contextmanager
def seldom_collecting():
    before = gc.get_threshold()
    gc.set_threshold(ROWS_BETWEEN, *before[1:])
    try:
        yield
    finally:
        gc.set_threshold(*before)
