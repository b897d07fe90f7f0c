"""Which of many years' readings a cart's run rests on. Pure: no Django, no clock."""

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import datetime

ESTIMATED = "estimated"


def needed(readings: Sequence, marks: Iterable[datetime]) -> list:
    """Return the readings without those that a run from mark to mark, and to the end, passes.

    Passed is one of the hours alone that only rises between its neighbours: what is run
    by either side of it adds up to the same. ``marks`` are the moments of which the life is
    asked and those at which a meter was fitted. ``readings`` stand in order of time.
    """
    stops, plain = sorted(marks), _plain(readings)
    inner = zip(readings, readings[1:], readings[2:], strict=False)
    return [
        *readings[:1],
        *(
            row
            for place, (before, row, after) in enumerate(inner)
            if not all(plain[place : place + 3]) or not _rises(before, row, after, stops)
        ),
        *readings[1:][-1:],
    ]


def _plain(readings):
    """Return of each whether it is a true reading of the hours alone, the only one then."""
    at_once = Counter(row.done_at for row in readings)
    return [
        row.hours_shown is not None
        and row.distance_shown is None
        and not row.hours_rolled
        and row.source != ESTIMATED
        and at_once[row.done_at] == 1
        for row in readings
    ]


def _rises(before, row, after, stops):
    is_rising = before.hours_shown <= row.hours_shown <= after.hours_shown
    return is_rising and bisect_left(stops, before.done_at) == bisect_right(stops, after.done_at)
