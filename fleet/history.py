"""What is known of one cart, as the schedule reads it, and what it answers. Pure.

Moments are aware datetimes; beside each stands its day at the cart's site then. The
order in which things are given never matters.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from types import MappingProxyType
from typing import NamedTuple
from uuid import UUID

from fleet.due import Dates
from fleet.gauge import Seen
from fleet.layup import LayUp
from fleet.rulebook import CLOSED_STARTS, Book

CLOSED, VOID = "closed", "void"
LIFT_REMOVED = "lift removed"
LEFT_FLEET = "left the fleet"
STARTED_AGAIN = "started again by a later event"
SETTLED_ENOUGH = "the settle check may be done now"
ORDERED = "ordered"
STARTED_UP = "started-up"
OTHER_RULES = "other-rules"


NOT_SPREAD: Mapping[str, date] = MappingProxyType({})


class Event(NamedTuple):
    """Something that may start clocks: a rule's ``starts`` name it.

    ``found_in`` is the round in which it was found, and that round never closes what the
    event starts; an event of the round's own fact is found in it. ``chapter`` is the
    fitting it belongs to; None is the lift on the cart at that moment. ``due_by`` puts
    a day, by kind, in place of a rule's own days: a start spread over a shop's minutes.
    """

    fact_id: UUID
    name: str
    at: datetime
    day: date
    subject: str = ""
    chapter: UUID | None = None
    found_in: UUID | None = None
    due_by: Mapping[str, date] = NOT_SPREAD

    def round_among(self, round_ids: frozenset[UUID]) -> UUID | None:
        """Return the round in which it was found, if that is one of these."""
        for fact_id in (self.found_in, self.fact_id):
            if fact_id in round_ids:
                return fact_id
        return None

    def counts_from(self, started_at: datetime | None) -> bool:
        """Whether it may start a clock where the records begin then; told work always may."""
        return started_at is None or self.at >= started_at or self.name.startswith(CLOSED_STARTS)


@dataclass(frozen=True)
class Done:
    """A round and the pieces of work that it really did; ``left_out`` are parts of some.

    ``held`` are pieces that its findings keep from closing, done or not.
    """

    fact_id: UUID
    at: datetime
    day: date
    atoms: frozenset[str]
    left_out: frozenset[str] = frozenset()
    held: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Lift:
    """A lift on the cart, from its fitting to its removal by the fact ``ended_by``."""

    fitting_id: UUID
    kit: str
    from_at: datetime
    until_at: datetime | None = None
    until_day: date | None = None
    ended_by: UUID | None = None

    def __post_init__(self):
        if (self.until_at is None) != (self.until_day is None):
            raise ValueError(f"lift {self.fitting_id}: until_at and until_day belong together")

    def is_on_at(self, at: datetime) -> bool:
        return self.from_at <= at and not self.is_off_at(at)

    def is_off_at(self, at: datetime) -> bool:
        return self.until_at is not None and self.until_at <= at


@dataclass(frozen=True)
class Order:
    """A recheck that the manager ordered; with ``stops`` the cart stops when it is late."""

    fact_id: UUID
    kind: str
    subject: str
    at: datetime
    day: date
    due_on: date
    stops: bool = False


@dataclass(frozen=True)
class Left:
    """The cart left the fleet."""

    fact_id: UUID
    at: datetime
    day: date


@dataclass(frozen=True)
class BookFrom:
    """The rule book in force from a moment; ``arrival``: the cart came to another site."""

    at: datetime
    book: Book
    arrival: bool = False


def book_at(books: Sequence[BookFrom], at: datetime) -> Book:
    """Return the book in force at a moment; before the first, the first."""
    if len(books) == 1:
        return books[0].book
    begun = [one for one in books if one.at <= at]
    if begun:
        return max(begun, key=lambda one: one.at).book
    return min(books, key=lambda one: one.at).book


@dataclass(frozen=True)
class History:
    """All the facts of one cart that bear on what falls due.

    ``contents`` gives each kind's pieces of work; "{subject}" in one stands for the
    recheck's subject; the kinds ``gathering`` are done over several rounds. Nothing but
    told work starts a clock before a "started-up" event: lifts older than the records run
    none backwards. ``use_classes`` are (from when, class). ``hours`` and ``metres`` are
    readings in life units.
    """

    books: tuple[BookFrom, ...]
    contents: Mapping[str, frozenset[str]]
    gathering: frozenset[str] = frozenset()
    events: tuple[Event, ...] = ()
    rounds: tuple[Done, ...] = ()
    lifts: tuple[Lift, ...] = ()
    orders: tuple[Order, ...] = ()
    use_classes: tuple[tuple[datetime, str], ...] = ()
    hours: tuple[Seen, ...] = ()
    metres: tuple[Seen, ...] = ()
    lay_ups: tuple[LayUp, ...] = ()
    left: Left | None = None

    @cached_property
    def round_ids(self) -> frozenset[UUID]:
        return frozenset(done.fact_id for done in self.rounds)

    @property
    def lifts_ended(self) -> tuple[Lift, ...]:
        return tuple(lift for lift in self.lifts if lift.until_at)

    @property
    def started_up_at(self) -> datetime | None:
        """The moment from which the cart's records count; None is from the first."""
        starts = (event.at for event in self.events if event.name == STARTED_UP)
        return min(starts, default=None)

    def book_at(self, at: datetime) -> Book:
        return book_at(self.books, at)

    def use_class_at(self, at: datetime) -> str:
        if len(self.use_classes) == 1:
            return self.use_classes[0][1]
        begun = [pair for pair in self.use_classes if pair[0] <= at]
        if begun:
            return max(begun)[1]
        return min(self.use_classes)[1] if self.use_classes else ""

    def lift_at(self, at: datetime, fitting_id: UUID | None = None) -> Lift | None:
        """Return the lift on the cart at a moment: that of the fitting, or the latest one.

        One that is named may go back before its recorded day, where that was not known.
        """
        if fitting_id is None:
            on = [lift for lift in self.lifts if lift.is_on_at(at)]
        else:
            on = [
                lift
                for lift in self.lifts
                if lift.fitting_id == fitting_id and not lift.is_off_at(at)
            ]
        if len(on) < 2:
            return on[0] if on else None
        return max(on, key=lambda lift: (lift.from_at, lift.fitting_id))


class Planned(NamedTuple):
    """One recheck: what it is held to, and how it ended if it did.

    (rule_code, subject, anchor_fact_id, step) names it for good; ``step`` counts the
    rungs of a ladder. ``ended`` is "closed", "void" or None, ``ended_by`` the fact that
    ended it. ``state_at_end`` is its state on the day it ended. ``missing`` are the
    pieces that gathered work still lacks, and empty for all other work.
    """

    rule_code: str
    kind: str
    subject: str
    anchor_fact_id: UUID
    anchor_at: datetime
    anchor_day: date
    step: int
    chapter: UUID | None
    dates: Dates
    ended: str | None = None
    ended_by: UUID | None = None
    ended_at: datetime | None = None
    ended_on: date | None = None
    void_reason: str = ""
    state_at_end: str = ""
    missing: frozenset[str] = frozenset()
