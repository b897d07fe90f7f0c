"""What is known of one cart, as the schedule reads it, and what it answers. Pure.

Moments are aware datetimes; beside each stands its day at the cart's site then. The
order in which things are given never matters.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from fleet.due import Dates, Seen
from fleet.layup import LayUp, LayUpLimits
from fleet.rulebook import Book

CLOSED, VOID = "closed", "void"
LIFT_REMOVED = "lift removed"
LEFT_FLEET = "left the fleet"
STARTED_AGAIN = "started again by a later event"
SETTLED_ENOUGH = "the settle check may be done now"
ORDERED = "ordered"


@dataclass(frozen=True)
class Event:
    """Something that may start clocks: a rule's ``starts`` name it.

    ``found_in`` is the round in which it was found; that round never closes what the
    event starts. ``chapter`` is the fitting it belongs to; None is the lift on the cart
    at that moment. ``due_by`` puts another day, by kind, in place of a rule's own days:
    start days spread over a shop's minutes.
    """

    fact_id: UUID
    name: str
    at: datetime
    day: date
    subject: str = ""
    chapter: UUID | None = None
    found_in: UUID | None = None
    due_by: Mapping[str, date] = field(default_factory=dict)


@dataclass(frozen=True)
class Done:
    """A round and the pieces of work that it really did."""

    fact_id: UUID
    at: datetime
    day: date
    atoms: frozenset[str]


@dataclass(frozen=True)
class Lift:
    """A lift on the cart, from its fitting to its removal by the fact ``ended_by``."""

    fitting_id: UUID
    kit: str
    from_at: datetime
    until_at: datetime | None = None
    until_day: date | None = None
    ended_by: UUID | None = None


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


@dataclass(frozen=True)
class History:
    """All the facts of one cart that bear on what falls due.

    ``contents`` gives each kind's pieces of work; "{subject}" in one stands for the
    recheck's subject. ``use_classes`` are (from when, class). ``hours`` and ``metres``
    are readings in life units.
    """

    books: tuple[BookFrom, ...]
    contents: Mapping[str, frozenset[str]]
    events: tuple[Event, ...] = ()
    rounds: tuple[Done, ...] = ()
    lifts: tuple[Lift, ...] = ()
    orders: tuple[Order, ...] = ()
    use_classes: tuple[tuple[datetime, str], ...] = ()
    hours: tuple[Seen, ...] = ()
    metres: tuple[Seen, ...] = ()
    lay_ups: tuple[LayUp, ...] = ()
    lay_up_limits: LayUpLimits = LayUpLimits()
    left: Left | None = None


@dataclass(frozen=True)
class Planned:
    """One recheck: what it is held to, and how it ended if it did.

    (rule_code, subject, anchor_fact_id, step) names it for good; ``step`` counts the
    rungs of a ladder. ``ended`` is "closed", "void" or None, ``ended_by`` the fact that
    ended it. ``state_at_end`` is its state on the day it ended.
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
