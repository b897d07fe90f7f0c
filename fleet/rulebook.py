"""When a kind of work falls due: rules, and the books that hold them. Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from functools import cached_property
from graphlib import CycleError, TopologicalSorter

from fleet.due import Terms
from fleet.layup import DEFAULT_LIMITS, LayUpLimits
from fleet.reach import AT_ONCE, NO_LIMITS, Limits

RANKS = ("maker", "cart maker", "law or insurer", "site", "default")
OPENS_AT_ONCE = "at-once"
FROM_ANCHOR, FROM_DUE = "anchor", "due"
CLOSED_STARTS, WAITS_STARTS = "closed:", "waits:"


@dataclass(frozen=True)
class Leeway:
    """How far past its limit work may be done: amounts, or a share of each limit.

    With ``percent`` the days are rounded down and cut off at ``max_days``.
    """

    days: int | None = None
    hours: Decimal | None = None
    metres: Decimal | None = None
    percent: int | None = None
    max_days: int | None = None

    def of(self, limit: Limits) -> Limits:
        """Return the leeway of a limit; a part that is not given is none."""
        if self.percent is None:
            return Limits(self.days, self.hours, self.metres)
        days = None if limit.days is None else limit.days * self.percent // 100
        if days is not None and self.max_days is not None:
            days = min(days, self.max_days)
        return Limits(
            days,
            limit.hours and limit.hours * self.percent / 100,
            limit.metres and limit.metres * self.percent / 100,
        )


NO_LEEWAY = Leeway()


@dataclass(frozen=True)
class Rule:
    """When one kind of work falls due.

    ``starts`` are the events that start its clock, "closed:KIND" a recheck of that kind
    that was closed, "waits:KIND" one that waits for use past its calendar day.
    ``ladder`` are the limits of the first, second, ... recheck, each counted from that
    same start; ``every`` then counts from the round that closed the last. ``opens``
    None is 80 % or 14 days before due. ``stop`` counts from the anchor or from due.
    ``takes_over``: kinds, the first one before the others, of which the round that found
    the event closed one; that clock goes on, for a joint that was not reached.
    ``unless_done``: nothing starts where the round that found it did the work as well.
    ``keeps_first``: found again while its clock runs, it keeps the dates of the first time.
    ``use_classes`` and ``kits`` empty: all.

    Raises ValueError for a rule that could never fall due or names an unknown rank.
    """

    code: str
    kind: str
    starts: tuple[str, ...]
    ladder: tuple[Limits, ...] = ()
    every: Limits | None = None
    opens: Limits | str | None = None
    leeway: Leeway = NO_LEEWAY
    stop: Limits | None = None
    stop_from: str = FROM_ANCHOR
    stop_needs: Limits | None = None
    settles: bool = False
    fixed: bool = False
    unless_done: bool = False
    keeps_first: bool = False
    takes_over: tuple[str, ...] = ()
    use_classes: tuple[str, ...] = ()
    lifted_only: bool = False
    kits: tuple[str, ...] = ()
    source: str = ""
    rank: str = "default"

    def __post_init__(self):
        if not self.starts:
            raise ValueError(f"rule {self.code}: nothing starts its clock")
        if not self.takes_over and not all(self.rungs):
            raise ValueError(f"rule {self.code}: every step needs days, h or a distance")
        if not self.takes_over and not self.rungs:
            raise ValueError(f"rule {self.code} has no limits")
        if self.settles and not isinstance(self.opens, Limits):
            raise ValueError(f"rule {self.code} settles in use, so it must say what opens it")
        if self.rank not in RANKS:
            raise ValueError(f"rule {self.code}: rank {self.rank!r} is none of {RANKS}")
        if self.stop_from not in (FROM_ANCHOR, FROM_DUE):
            raise ValueError(f"rule {self.code}: stop_from {self.stop_from!r} is unknown")

    @cached_property
    def rungs(self) -> tuple[Limits, ...]:
        """All its limits: the ladder's, then the recurring ones."""
        return self.ladder if self.every is None else (*self.ladder, self.every)

    @cached_property
    def rung_terms(self) -> tuple[Terms, ...]:
        """What a recheck is held to at each of its limits."""
        return tuple(map(self.terms, self.rungs))

    @property
    def is_for_waiting(self) -> bool:
        return any(start.startswith(WAITS_STARTS) for start in self.starts)

    def terms(self, limit: Limits) -> Terms:
        """Return what a recheck with this limit is held to."""
        stop = self.stop or NO_LIMITS
        return Terms(
            limit=limit,
            opens=AT_ONCE if self.opens == OPENS_AT_ONCE else self.opens,
            leeway=self.leeway.of(limit),
            stop=_beyond(limit, stop) if self.stop_from == FROM_DUE else stop,
            stop_needs=self.stop_needs or NO_LIMITS,
            settles=self.settles,
            fixed=self.fixed,
        )


def _beyond(limit: Limits, stop: Limits) -> Limits:
    """Return a stop that counts from due as one that counts from the anchor."""
    moved = stop.plus(limit)
    return Limits(
        None if limit.days is None else moved.days,
        None if limit.hours is None else moved.hours,
        None if limit.metres is None else moved.metres,
    )


@dataclass(frozen=True)
class Average:
    """What a use class runs a day where a cart's own readings do not say."""

    hours_per_day: Decimal
    metres_per_day: Decimal


@dataclass(frozen=True)
class Book:
    """A version of a site's rules; averages by use class; what holds for lay-ups.

    A code may stand more than once, for several ranks or kits: ``rule_for`` chooses. A
    lay-up keeps the limits of the book in force when it begins.
    Raises ValueError for rules that start each other in a ring.
    """

    rules: tuple[Rule, ...]
    averages: Mapping[str, Average] = field(default_factory=dict)
    effective_from: datetime | None = None
    lay_up: LayUpLimits = DEFAULT_LIMITS

    def __post_init__(self):
        ring = _ring(self.rules)
        if ring:
            raise ValueError(f"kinds start each other in a ring: {' > '.join(ring)}")

    @cached_property
    def by_code(self) -> dict[str, list[Rule]]:
        found: dict[str, list[Rule]] = {}
        for rule in self.rules:
            found.setdefault(rule.code, []).append(rule)
        return found

    @cached_property
    def codes_by_start(self) -> dict[str, list[str]]:
        found: dict[str, set[str]] = {}
        for rule in self.rules:
            for start in rule.starts:
                found.setdefault(start, set()).add(rule.code)
        return {start: sorted(codes) for start, codes in found.items()}

    @cached_property
    def _recurring(self) -> dict[str, list[str]]:
        found: dict[str, set[str]] = {}
        for rule in self.rules:
            if rule.every is not None and not rule.is_for_waiting:
                found.setdefault(rule.kind, set()).add(rule.code)
        return {kind: sorted(codes) for kind, codes in found.items()}

    def recurring_codes(self, kind: str) -> list[str]:
        """Return the codes of the rules by which a kind of work comes again."""
        return self._recurring.get(kind, [])

    def is_of_lift(self, kind: str) -> bool:
        """Whether a kind of work is asked for on lifted carts only."""
        return any(rule.lifted_only for rule in self.rules if rule.kind == kind)

    @cached_property
    def _chosen(self) -> dict[tuple[str, str, str | None], Rule | None]:
        """What was chosen so far: a book never changes, and many carts ask the same of it."""
        return {}

    def rule_for(self, code: str, *, use_class: str, kit: str | None) -> Rule | None:
        """Return the rule of a code that holds for a cart; kit None is no lift.

        The highest rank rules, but a site's stricter one goes before it.
        """
        asked = (code, use_class, kit)
        if asked not in self._chosen:
            self._chosen[asked] = self._choose(*asked)
        return self._chosen[asked]

    def _choose(self, code: str, use_class: str, kit: str | None) -> Rule | None:
        fitting = [rule for rule in self.by_code.get(code, ()) if _holds(rule, use_class, kit)]
        if not fitting:
            return None
        best = min(fitting, key=lambda rule: (RANKS.index(rule.rank), not rule.kits))
        stricter = [r for r in fitting if r.rank == "site" and not looser_than(r, best)]
        return stricter[0] if stricter else best


def _holds(rule: Rule, use_class: str, kit: str | None) -> bool:
    if rule.lifted_only and kit is None:
        return False
    if rule.kits and kit not in rule.kits:
        return False
    return not rule.use_classes or use_class in rule.use_classes


def _ring(rules: Iterable[Rule]) -> list[str]:
    """Return kinds that start each other without end; a kind that recurs may start itself."""
    after: dict[str, set[str]] = {}
    for rule in rules:
        for start in rule.starts:
            prefix, _, kind = start.partition(":")
            own = kind == rule.kind and rule.every is not None
            if kind and not own and f"{prefix}:" in (CLOSED_STARTS, WAITS_STARTS):
                after.setdefault(rule.kind, set()).add(kind)
    try:
        TopologicalSorter(after).prepare()
    except CycleError as error:
        return error.args[1]
    return []


def merge(books: Iterable[Book]) -> Book:
    """Return the union of books, in force from the latest of them.

    Limits of a lay-up other than the default ones go before those. Raises ValueError
    where two books say otherwise about them or about the average of one use class.
    """
    averages: dict[str, Average] = {}
    rules: list[Rule] = []
    starts = []
    lay_up = DEFAULT_LIMITS
    for book in books:
        rules.extend(book.rules)
        starts.append(book.effective_from)
        if DEFAULT_LIMITS not in (lay_up, book.lay_up) and lay_up != book.lay_up:
            raise ValueError(f"two limits of a lay-up are given: {lay_up} and {book.lay_up}")
        lay_up = lay_up if book.lay_up == DEFAULT_LIMITS else book.lay_up
        for use_class, average in book.averages.items():
            if averages.setdefault(use_class, average) != average:
                raise ValueError(f"two averages are given for the use class {use_class!r}")
    known = [start for start in starts if start is not None]
    return Book(tuple(rules), averages, max(known, default=None), lay_up)


def looser_than(site_rule: Rule, maker_rule: Rule) -> list[str]:
    """Return each way in which a site's rule asks for less than the maker's; [] for none.

    A limit that the maker sets and the site leaves out is looser; so is a longer one,
    more leeway, a later stop, and carts that the maker's rule holds for left out.
    """
    loose = []
    for step, maker_limit in enumerate(maker_rule.rungs):
        if step >= len(site_rule.rungs):
            loose.append(f"step {step + 1} is left out")
            continue
        site_limit = site_rule.rungs[step]
        loose += _longer(f"step {step + 1}", site_limit, maker_limit)
        loose += _longer(
            f"step {step + 1} with leeway",
            _allowed(site_rule, site_limit),
            _allowed(maker_rule, maker_limit),
        )
        loose += _longer(
            f"stop of step {step + 1}",
            site_rule.terms(site_limit).stop,
            maker_rule.terms(maker_limit).stop,
        )
    if site_rule.every is None and maker_rule.every is not None:
        loose.append("it does not come again")
    for start in maker_rule.starts:
        if start not in site_rule.starts:
            loose.append(f"{start} no longer starts it")
    return loose


def _allowed(rule: Rule, limit: Limits) -> Limits:
    return limit.plus(rule.leeway.of(limit))


def _longer(name: str, site: Limits, maker: Limits) -> list[str]:
    loose = []
    for part in ("days", "hours", "metres"):
        own, asked = getattr(site, part), getattr(maker, part)
        if asked is not None and (own is None or own > asked):
            loose.append(f"{name}: {part} {'left out' if own is None else own} against {asked}")
    return loose


def replace_rule(book: Book, rule: Rule, *, effective_from: datetime) -> Book:
    """Return the next version of a book, the rule of that code, rank and kits replaced."""
    place = (rule.code, rule.rank, rule.kits)
    others = tuple(one for one in book.rules if (one.code, one.rank, one.kits) != place)
    return replace(book, rules=(*others, rule), effective_from=effective_from)
