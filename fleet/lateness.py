"""How late an entry was written, and what follows from it. Pure.

Common practice, no source for either limit.
"""

from datetime import date, datetime, timedelta

MARKED_AFTER = timedelta(hours=24)
COUNTERSIGNED_AFTER = timedelta(days=7)
CLOCKS_DIFFER = timedelta(minutes=5)


def arrival_of(row) -> datetime:
    """Return when a fact came, by the clock of then.

    ``received_at`` is never before the entry before it: once the clock was ahead it says too much.
    """
    return min(row.written_at, row.received_at)


def tells_of(done_at: datetime, received_at: datetime) -> bool:
    """Whether what arrived then can have told of work done at that time: not of later work."""
    return done_at - received_at <= CLOCKS_DIFFER


def is_written_late(done_at: datetime, received_at: datetime, brought_in: bool = False) -> bool:
    """Whether an entry arrived so long after it was done that every page marks it.

    History that was brought in is old by nature and never late.
    """
    return not brought_in and received_at - done_at > MARKED_AFTER


def needs_countersign(done_at: datetime, received_at: datetime, brought_in: bool = False) -> bool:
    """Whether work arrived so late that it closes nothing until a manager countersigns it.

    ``received_at`` is when this work was first told of, ``done_at`` when it is said to have
    been done now: told again it is neither late for that, nor let off by it.
    """
    return not brought_in and received_at - done_at > COUNTERSIGNED_AFTER


def acts_from(done_at: datetime, received_at: datetime, brought_in: bool = False) -> datetime:
    """Return from when a lay-up, a leaving or a removal acts: told too late, from its arrival.

    So none of them makes work good that was late before anybody told of it.
    """
    return received_at if needs_countersign(done_at, received_at, brought_in) else done_at


def days_late(done_on: date, received_on: date) -> int:
    """Return the days of the calendar from the day of the work to that of its arrival."""
    return max(0, (received_on - done_on).days)
