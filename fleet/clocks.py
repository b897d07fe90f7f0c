"""One running clock of a cart, judged by what was known at a moment. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import NamedTuple
from uuid import UUID

from fleet.due import Dates, Terms, dates_of, settled, state_on
from fleet.gauge import Gauge, Seen, in_order
from fleet.history import Done, History, Planned
from fleet.layup import lay_up_void
from fleet.reach import Use
from fleet.reading_doubts import MOST_A_DAY
from fleet.rulebook import Average, Rule


def covers(done: Done, wanted: frozenset[str]) -> bool:
    """Return whether all the wanted pieces were done.

    "lugs" does "lugs:left front" too, unless that was left out.
    """
    return bool(wanted) and all(
        piece in done.atoms
        or (piece.partition(":")[0] in done.atoms and piece not in done.left_out)
        for piece in wanted
    )


def gathered(before: frozenset[str], done: Done, wanted: frozenset[str]) -> frozenset[str]:
    """Return the wanted pieces that are done after a round: what it did joins, what it holds goes.

    A piece that was done stays so until a finding holds it.
    """
    did = {piece for piece in wanted if covers(done, frozenset({piece}))}
    return (before | did) - done.held


def content_of(contents: Mapping[str, frozenset[str]], kind: str, subject: str) -> frozenset[str]:
    """Return a kind's pieces of work for a subject.

    Raises ValueError for a kind that nobody has registered.
    """
    if kind not in contents:
        raise ValueError(f"no kind of work is registered as {kind!r}")
    if not any("{subject}" in piece for piece in contents[kind]):
        return contents[kind]
    return frozenset(piece.replace("{subject}", subject) for piece in contents[kind])


@dataclass
class Past:
    """The cart's use as it was known at a moment."""

    history: History
    known: dict[tuple[datetime | None, Average | None], Use] = field(default_factory=dict)

    def __post_init__(self):
        self.hours = in_order(self.history.hours)
        self.metres = in_order(self.history.metres)
        self.whole: dict[Average | None, tuple[Gauge, Gauge]] = {}

    def use(self, average: Average | None, at: datetime | None) -> Use:
        """Return the use by the readings up to ``at``; by all of them for None."""
        asked = (at, average)
        use = self.known.get(asked)
        if use is None:
            use = self.known[asked] = self._use(average, at)
        return use

    def _use(self, average: Average | None, at: datetime | None) -> Use:
        hours, metres = self._gauges(average)
        if at is not None:
            hours, metres = hours.until(at), metres.until(at)
        rests = tuple(
            lay_up
            for lay_up in self.history.lay_ups
            if not lay_up_void(lay_up, hours.seen, metres.seen)
        )
        return Use(hours, metres, rests)

    def _gauges(self, average: Average | None) -> tuple[Gauge, Gauge]:
        if average not in self.whole:
            self.whole[average] = (
                Gauge(self.hours, average and average.hours_per_day, MOST_A_DAY["hours"]),
                Gauge(self.metres, average and average.metres_per_day, MOST_A_DAY["distance"]),
            )
        return self.whole[average]


@dataclass(frozen=True)
class End:
    """How a recheck ends: by which fact, when, and for a void one why."""

    ended: str
    by: UUID | None
    at: datetime
    day: date
    reason: str = ""


class Clock(NamedTuple):
    """One recheck that has not ended.

    ``fact_id`` is the fact that started it. ``waits_on`` is the key of the recheck
    whose wait for use it fills. ``rule`` None: the manager ordered it. One that
    ``gathers`` has the pieces ``have`` from the ``rounds`` since its start.
    """

    code: str
    kind: str
    subject: str
    fact_id: UUID
    at: datetime
    day: date
    terms: Terms
    content: frozenset[str]
    average: Average | None = None
    rule: Rule | None = None
    step: int = 0
    chapter: UUID | None = None
    waits_on: tuple[str, str, str] | None = None
    gathers: bool = False
    have: frozenset[str] = frozenset()
    rounds: tuple[Done, ...] = ()

    @property
    def key(self) -> tuple[str, str, str]:
        return (self.code, self.subject, "" if self.rule else str(self.fact_id))

    def dates(self, past: Past, at: datetime | None) -> Dates:
        use = past.use(self.average, at)
        return dates_of(self.terms, use.anchor(self.at, self.day), use)

    def settled(self, past: Past, at: datetime | None) -> Seen | None:
        """Return the reading that brought the use it waits for."""
        use = past.use(self.average, at)
        return settled(self.terms, use.anchor(self.at, self.day), use)

    def is_closed_by(self, done: Done, past: Past) -> bool:
        """Whether a round did all of it, or the last of it, and not too early to count."""
        is_whole = self.content <= self.have if self.gathers else covers(done, self.content)
        return is_whole and self.counts(done, past)

    def with_work_of(self, done: Done, past: Past) -> "Clock":
        """Return the clock with what a round did of it, where that was not too early to count."""
        have = gathered(self.have, done, self.content)
        have = have if self.counts(done, past) else self.have & have
        return self._replace(have=have, rounds=(*self.rounds, done))

    def counts(self, done: Done, past: Past) -> bool:
        """Whether a round came late enough to do any of it."""
        use = past.use(self.average, done.at)
        if self.terms.settles and (use.hours.seen or use.metres.seen):
            # a forecast of the use that settles proves nothing
            return self.settled(past, done.at) is not None
        opens_on = self.dates(past, done.at).opens_on
        return opens_on is not None and opens_on <= done.day

    def standing(self, past: Past) -> Planned:
        return self._planned(self.dates(past, None))

    def ended(self, past: Past, end: End) -> Planned:
        """Return the recheck as it was known when it ended."""
        dates = self.dates(past, end.at)
        return self._planned(dates)._replace(
            ended=end.ended,
            ended_by=end.by,
            ended_at=end.at,
            ended_on=end.day,
            void_reason=end.reason,
            state_at_end=state_on(dates, end.day),
        )

    def _planned(self, dates: Dates) -> Planned:
        return Planned(
            rule_code=self.code,
            kind=self.kind,
            subject=self.subject,
            anchor_fact_id=self.fact_id,
            anchor_at=self.at,
            anchor_day=self.day,
            step=self.step,
            chapter=self.chapter,
            dates=dates,
            missing=self.content - self.have if self.gathers else frozenset(),
        )
