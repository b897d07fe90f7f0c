"""Everything that falls due on one cart, from its facts and the rule book. Pure.

The facts are gone through once, in order of time. A round is judged by the readings
up to it alone, so nothing learnt later closes or re-opens what it did.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from uuid import UUID

from fleet.clocks import Clock, End, Past, content_of, covers
from fleet.due import Terms
from fleet.history import (
    CLOSED,
    LEFT_FLEET,
    LIFT_REMOVED,
    ORDERED,
    OTHER_RULES,
    SETTLED_ENOUGH,
    STARTED_AGAIN,
    VOID,
    BookFrom,
    Done,
    Event,
    History,
    Left,
    Lift,
    Order,
    Planned,
)
from fleet.reach import AT_ONCE, NO_LIMITS, Limits
from fleet.rulebook import CLOSED_STARTS, WAITS_STARTS, Book, Rule

Moment = BookFrom | Lift | Event | Order | Done | Left


def schedule(history: History) -> tuple[Planned, ...]:
    """Return every recheck of a cart, ended ones too, by start, rule and subject.

    A round closes each active recheck that is open on its day and whose whole content it
    did, or completed where that is gathered; earlier work closes nothing. A later event of
    the same rule and subject starts its clock again. Rechecks of a lift end with the lift,
    all end when the cart leaves.

    Raises ValueError for a history without a rule book, or a kind without content.
    """
    if not history.books:
        raise ValueError("a history needs a rule book")
    course = _Course(history, Past(history))
    for moment in _moments(history):
        course.take(moment)
    return tuple(sorted(course.planned(), key=_place))


def _place(planned: Planned) -> tuple:
    return (
        planned.anchor_at,
        planned.rule_code,
        planned.subject,
        planned.anchor_fact_id.int,
        planned.step,
    )


def _moments(history: History) -> Iterator[Moment]:
    """Yield arrivals, removals, events, orders, rounds by time, in this order at one moment."""
    started_at = history.started_up_at
    keyed = [((one.at, 0, 0, ""), one) for one in history.books if one.arrival]
    keyed += [((one.until_at, 1, one.fitting_id.int, ""), one) for one in history.lifts_ended]
    keyed += [
        ((one.at, 2, one.fact_id.int, f"{one.name} {one.subject}"), one)
        for one in history.events
        if one.round_among(history.round_ids) is None and one.counts_from(started_at)
    ]
    keyed += [((one.at, 3, one.fact_id.int, ""), one) for one in history.orders]
    keyed += [((one.at, 4, one.fact_id.int, ""), one) for one in history.rounds]
    if history.left:
        keyed = [pair for pair in keyed if pair[0][0] <= history.left.at]
        keyed.append(((history.left.at, 5, 0, ""), history.left))
    return (moment for _, moment in sorted(keyed, key=lambda pair: pair[0]))


@dataclass
class _Course:
    """The way through a cart's facts: what is active now, and what has ended."""

    history: History
    past: Past
    active: dict[tuple[str, str, str], Clock] = field(default_factory=dict)
    ended: list[Planned] = field(default_factory=list)

    def __post_init__(self):
        self.rounds = {done.fact_id: done for done in self.history.rounds}
        self.found: dict[UUID, list[Event]] = {}
        for event in self.history.events:
            found_in = event.round_among(self.history.round_ids)
            if found_in is not None:
                self.found.setdefault(found_in, []).append(event)
        for events in self.found.values():
            events.sort(key=lambda one: (one.name, one.subject, one.fact_id.int))

    def take(self, moment: Moment) -> None:
        match moment:
            case BookFrom():
                self._arrive(moment)
            case Lift():
                self._remove(moment)
            case Event():
                self._start(moment)
            case Order():
                self._order(moment)
            case Done():
                self._judge(moment)
            case Left():
                left = End(VOID, moment.fact_id, moment.at, moment.day, LEFT_FLEET)
                self._end_all(list(self.active.values()), left)

    def planned(self) -> list[Planned]:
        """Return all rechecks, once every fact is taken."""
        self._end_waits(None)
        standing = [one for one in self.active.values() if self._is_called_for(one, None)]
        return [*self.ended, *(one.standing(self.past) for one in standing)]

    def _arrive(self, arrival: BookFrom) -> None:
        """Date by the book of the site that the cart came to whatever runs by a rule."""
        for key, clock in list(self.active.items()):
            if clock.rule is None or not _runs_by_rule(clock):
                continue
            rule = self._rule(clock.code, arrival.at, clock.chapter)
            if rule and clock.step < len(rule.rungs):
                terms = rule.rung_terms[clock.step]
                self.active[key] = clock._replace(rule=rule, terms=terms)

    def _remove(self, lift: Lift) -> None:
        of_lift = [one for one in self.active.values() if one.chapter == lift.fitting_id]
        removed = End(VOID, lift.ended_by, lift.until_at, lift.until_day, LIFT_REMOVED)
        self._end_all(of_lift, removed)

    def _order(self, order: Order) -> None:
        days = max(0, (order.due_on - order.day).days)
        stop = Limits(days=days + 1) if order.stops else NO_LIMITS
        lift = self.history.lift_at(order.at)
        is_of_lift = self.history.book_at(order.at).is_of_lift(order.kind)
        clock = Clock(
            code=ORDERED,
            kind=order.kind,
            subject=order.subject,
            fact_id=order.fact_id,
            at=order.at,
            day=order.day,
            terms=Terms(Limits(days=days), AT_ONCE, stop=stop, fixed=True),
            content=self._content_of(order.kind, order.subject),
            gathers=order.kind in self.history.gathering,
            chapter=lift.fitting_id if lift and is_of_lift else None,
        )
        self.active[clock.key] = clock

    def _judge(self, done: Done) -> None:
        """Close what the round closes, then start what follows from it."""
        self._end_waits(done.at)
        self._gather(done)
        closed = [
            clock
            for _, clock in sorted(self.active.items())
            if self._is_called_for(clock, done.at) and clock.is_closed_by(done, self.past)
        ]
        self._end_all(closed, End(CLOSED, done.fact_id, done.at, done.day))
        for clock in closed:
            self._go_on(clock, done)
        for clock in closed:
            self._start(_closing(clock, done))
        for event in self.found.get(done.fact_id, ()):
            self._start(event, closed)
        for clock in closed:
            self._start_put_off(clock)

    def _gather(self, done: Done) -> None:
        """Add what a round did to the work that is gathered over several."""
        for key, clock in list(self.active.items()):
            if clock.gathers:
                self.active[key] = clock.with_work_of(done, self.past)

    def _start_put_off(self, clock: Clock) -> None:
        """Start what takes over from gathered work and was found in a round before its last.

        A joint not reached on the first day, nor since, is to be looked at once the work
        closes without it.
        """
        found = {
            (event.name, event.subject): (event, clock.rounds[place:])
            for place, done in enumerate(clock.rounds, start=1)
            for event in self.found.get(done.fact_id, ())
        }
        for event, later in found.values():
            for code in self.history.book_at(event.at).codes_by_start.get(event.name, ()):
                rule = self._rule(code, event.at, event.chapter)
                if rule and clock.kind in rule.takes_over and not self._is_done(rule, event, later):
                    self._begin(code, event, [clock])

    def _is_done(self, rule: Rule, event: Event, rounds: Iterable[Done]) -> bool:
        wanted = self._content_of(rule.kind, event.subject)
        return any(covers(done, wanted) for done in rounds)

    def _go_on(self, clock: Clock, done: Done) -> None:
        """Start the next step of a ladder, or the next check that fills a wait."""
        rule = clock.rule
        if rule is None:
            return
        if clock.waits_on:
            if clock.waits_on in self.active:
                self._wait(rule, self.active[clock.waits_on], rule.every, done)
        elif clock.step + 1 < len(rule.ladder):
            terms = rule.rung_terms[clock.step + 1]
            self._activate(clock._replace(step=clock.step + 1, terms=terms))

    def _start(self, event: Event, closed: Iterable[Clock] = ()) -> None:
        """Start what an event starts; work of a kind that recurs starts its kind again."""
        book = self.history.book_at(event.at)
        named = book.codes_by_start.get(event.name, [])
        is_closing = event.name.startswith(CLOSED_STARTS)
        kind = event.name.removeprefix(CLOSED_STARTS) if is_closing else ""
        for code in named:
            self._begin(code, event, closed)
        for code in book.recurring_codes(kind):
            self._begin(code, event, is_again=True)
        if event.name == OTHER_RULES:
            self._begin_missing(book, event)

    def _begin_missing(self, book: Book, event: Event) -> None:
        """Start recurring work that would run, had its new use or site been the first."""
        lift = self.history.lift_at(event.at)
        done = {CLOSED_STARTS + one.kind for one in self._closed_of(lift)}
        running = {clock.kind for clock in self.active.values() if clock.rule}
        for kind in sorted({rule.kind for rule in book.rules} - running):
            for code in book.recurring_codes(kind):
                rule = self._rule(code, event.at, event.chapter)
                if rule and done & set(rule.starts):
                    self._begin(code, event, is_again=True)

    def _closed_of(self, lift: Lift | None) -> Iterator[Planned]:
        chapter = lift and lift.fitting_id
        return (one for one in self.ended if one.ended == CLOSED and one.chapter == chapter)

    def _begin(
        self, code: str, event: Event, closed: Iterable[Clock] = (), *, is_again: bool = False
    ) -> None:
        rule = self._rule(code, event.at, event.chapter)
        before = self.active.get((code, event.subject, ""))
        if rule is None or (before and before.fact_id == event.fact_id):
            return
        if is_again and before and before.step < len(rule.ladder):
            return  # its ladder goes on
        if rule.keeps_first and before:
            return
        clock = self._clock(rule, event, len(rule.ladder) if is_again else 0)
        if rule.takes_over:
            clock = None if before else _taken_over(clock, closed)
        if clock is None or (rule.unless_done and self._did(event, clock.content)):
            return
        if before:
            again = End(VOID, event.fact_id, event.at, event.day, STARTED_AGAIN)
            self._end_all([before], again)
        self._activate(clock)

    def _content_of(self, kind: str, subject: str) -> frozenset[str]:
        return content_of(self.history.contents, kind, subject)

    def _did(self, event: Event, content: frozenset[str]) -> bool:
        """Whether the round in which it was found did the work as well."""
        found_in = event.round_among(self.history.round_ids)
        return found_in is not None and covers(self.rounds[found_in], content)

    def _rule(self, code: str, at: datetime, chapter: UUID | None) -> Rule | None:
        lift = self.history.lift_at(at, chapter)
        return self.history.book_at(at).rule_for(
            code, use_class=self.history.use_class_at(at), kit=lift.kit if lift else None
        )

    def _clock(self, rule: Rule, event: Event, step: int) -> Clock:
        lift = self.history.lift_at(event.at, event.chapter)
        averages = self.history.book_at(event.at).averages
        return Clock(
            code=rule.code,
            kind=rule.kind,
            subject=event.subject,
            fact_id=event.fact_id,
            at=event.at,
            day=event.day,
            terms=_terms(rule, event, step),
            content=self._content_of(rule.kind, event.subject),
            gathers=rule.kind in self.history.gathering,
            average=averages.get(self.history.use_class_at(event.at)),
            rule=rule,
            step=step,
            chapter=lift.fitting_id if lift and rule.lifted_only else None,
        )

    def _activate(self, clock: Clock) -> None:
        self.active[clock.key] = clock
        days = clock.terms.limit.days
        if not clock.terms.settles or days is None:
            return
        book = self.history.book_at(clock.at)
        for code in book.codes_by_start.get(WAITS_STARTS + clock.kind, ()):
            rule = self._rule(code, clock.at, clock.chapter)
            if rule and (code, clock.subject, "") not in self.active:
                self._wait(rule, clock, Limits(days=days), clock)

    def _wait(self, rule: Rule, settling: Clock, limit: Limits, since: Clock | Done) -> None:
        """Start the check that fills the wait of a settling recheck for its use."""
        waiting = settling._replace(
            code=rule.code,
            kind=rule.kind,
            rule=rule,
            fact_id=since.fact_id,
            at=since.at,
            day=since.day,
            step=0,
            terms=rule.terms(limit),
            content=self._content_of(rule.kind, settling.subject),
            gathers=rule.kind in self.history.gathering,
            have=frozenset(),
            rounds=(),
            waits_on=settling.key,
        )
        self.active[waiting.key] = waiting

    def _is_called_for(self, clock: Clock, at: datetime | None) -> bool:
        """Whether what a clock waits on is not yet open on the calendar day."""
        if clock.waits_on is None:
            return True
        opens_on = self.active[clock.waits_on].dates(self.past, at).opens_on
        due_on = clock.dates(self.past, at).due_on
        return opens_on is None or due_on is None or opens_on > due_on

    def _end_waits(self, at: datetime | None) -> None:
        """End each wait that was over before a moment, at the reading that ended it."""
        for clock in [one for one in self.active.values() if one.waits_on]:
            seen = self.active[clock.waits_on].settled(self.past, at)
            if seen is None or (at is not None and seen.point.at >= at):
                continue
            end = End(VOID, None, seen.point.at, seen.day, SETTLED_ENOUGH)
            self._end_wait(clock, end)

    def _end_wait(self, clock: Clock, end: End) -> None:
        """End a filling check as void, or without a trace if it was never open."""
        opens_on = clock.dates(self.past, end.at).opens_on
        was_open = opens_on is not None and opens_on <= end.day
        if was_open and self._is_called_for(clock, end.at):
            self.ended.append(clock.ended(self.past, end))
        del self.active[clock.key]

    def _end_all(self, clocks: list[Clock], end: End) -> None:
        """End rechecks, and first those that fill a wait of one of them."""
        keys = {clock.key for clock in clocks}
        closing = keys if end.ended == CLOSED else set()
        reason = end.reason or SETTLED_ENOUGH
        void = replace(end, ended=VOID, reason=reason)
        for clock in list(self.active.values()):
            is_over = clock.waits_on in keys or (clock.waits_on and clock.key in keys)
            if is_over and clock.key not in closing:
                self._end_wait(clock, void)
        for key in keys & set(self.active):
            self.ended.append(self.active.pop(key).ended(self.past, end))


def _runs_by_rule(clock: Clock) -> bool:
    """Whether its limits are its rule's own, not a planned day's or another clock's."""
    terms = clock.rule.rung_terms
    return clock.step < len(terms) and clock.terms == terms[clock.step]


def _terms(rule: Rule, event: Event, step: int) -> Terms:
    if rule.takes_over:
        return rule.terms(NO_LIMITS)
    if rule.kind not in event.due_by:
        return rule.rung_terms[step]
    days = max(0, (event.due_by[rule.kind] - event.day).days)
    return rule.terms(replace(rule.rungs[step], days=days))


def _closing(clock: Clock, done: Done) -> Event:
    name = CLOSED_STARTS + clock.kind
    return Event(done.fact_id, name, done.at, done.day, clock.subject, clock.chapter)


def _taken_over(clock: Clock, closed: Iterable[Clock]) -> Clock | None:
    """Return the clock with the terms and start of the one that its round closed."""
    kinds = clock.rule.takes_over
    sources = [one for one in closed if one.kind in kinds]
    source = min(sources, key=lambda one: (kinds.index(one.kind), one.key), default=None)
    return source and clock._replace(
        at=source.at,
        day=source.day,
        terms=source.terms,
        average=source.average,
        chapter=source.chapter,
    )
