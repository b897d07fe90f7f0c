"""When a kind of work falls due: rules, and the books that hold them. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from fleet.due import Limits

RANKS = ("maker", "cart maker", "law or insurer", "site", "default")
AT_ONCE = "at-once"
FROM_ANCHOR, FROM_DUE = "anchor", "due"


@dataclass(frozen=True)
class Leeway:
    """How far past its limit work may be done: amounts, or a share of each limit.

    With ``percent`` the calendar part is cut off at ``max_days``.
    """

    days: int | None = None
    hours: Decimal | None = None
    metres: Decimal | None = None
    percent: int | None = None
    max_days: int | None = None


@dataclass(frozen=True)
class Rule:
    """When one kind of work falls due.

    ``starts`` are the events that start its clock, "closed:KIND" a recheck of that kind
    that was closed, "waits:KIND" one that waits for use past its calendar day.
    ``ladder`` are the limits of the first, second, ... recheck, each counted from that
    same start; ``every`` then counts from the round that closed the last. ``stop``
    counts from the anchor or from due. ``takes_over``: the clock is that of the recheck
    which the event's round closed, for a joint that was not reached.
    ``use_classes`` and ``kits`` empty: all.
    """

    code: str
    kind: str
    starts: tuple[str, ...]
    ladder: tuple[Limits, ...] = ()
    every: Limits | None = None
    opens: Limits | str | None = None
    leeway: Leeway = Leeway()
    stop: Limits | None = None
    stop_from: str = FROM_ANCHOR
    stop_needs: Limits | None = None
    settles: bool = False
    fixed: bool = False
    takes_over: bool = False
    use_classes: tuple[str, ...] = ()
    lifted_only: bool = False
    kits: tuple[str, ...] = ()
    source: str = ""
    rank: str = "default"


@dataclass(frozen=True)
class Average:
    """What a use class runs a day where a cart's own readings do not say."""

    hours_per_day: Decimal
    metres_per_day: Decimal


@dataclass(frozen=True)
class Book:
    """A version of a site's rules, in force from a moment; averages by use class."""

    rules: tuple[Rule, ...]
    averages: Mapping[str, Average] = field(default_factory=dict)
    effective_from: datetime | None = None
