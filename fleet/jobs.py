"""Long work as a row, done in a process of its own: how an app adds a kind of it.

A kind is a model of ``fleet.models.job.Job`` and a function; the app adds it when it
loads::

    jobs.add_kind("bundle", Bundle, bundles.run)

The function does the work of one row that this process has claimed::

    def run(bundle, *, at, progress):
        progress(40)                    # percent; now and then
        return {"file": name}           # columns to keep with the row when it is done

``progress`` raises Cancelled once somebody has cancelled the row or the row was given to
another process: let it pass, and clean up. Inside a transaction of its own the function may
end with ``progress.finish(file=name)``: then what it wrote and that the row is done are kept
together, or neither; ``run`` returns None in that case. Failed(words) says in words why it
cannot be done. It may be run again from the start after a crash at any line.

A page asks by making a row that waits and calling ``fleet.tasks.ring`` once that is
committed; a row that did wait is asked for again by updating it with
``fleet.actions.jobs.WAITING_ANEW``. The sweep starts whatever nobody rang for.
"""

from collections.abc import Callable
from dataclasses import dataclass

MINUTE_S = 60


@dataclass(frozen=True)
class Allowance:
    """The most that the process of a job may use: time on the clock, and memory."""

    wall_s: int = 20 * MINUTE_S
    memory_bytes: int = 2**30


@dataclass(frozen=True)
class JobKind:
    code: str
    model: type
    run: Callable
    allowance: Allowance = Allowance()


class Cancelled(Exception):
    """The row is no longer this process's: cancelled, or taken up by another."""


class Failed(Exception):
    """The work cannot be done: ``words`` for who asked, ``columns`` to keep with the row."""

    def __init__(self, words, **columns):
        super().__init__(words)
        self.words = words
        self.columns = columns


kinds: dict[str, JobKind] = {}


def add_kind(code: str, model: type, run: Callable, allowance: Allowance = Allowance()) -> None:
    """Add a kind of job; the same code again replaces it."""
    kinds[code] = JobKind(code, model, run, allowance)
