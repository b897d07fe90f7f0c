"""Turns the standing facts of a cart into the history that the schedule reads."""

from bisect import bisect_right
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from operator import itemgetter
from typing import NamedTuple
from uuid import UUID
from zoneinfo import ZoneInfo

from fleet.default_rules import book_from_json
from fleet.gauge import Seen
from fleet.history import (
    OTHER_RULES,
    BookFrom,
    Done,
    Event,
    History,
    Left,
    Lift,
    Order,
    book_at,
)
from fleet.kinds import register
from fleet.layup import LayUp
from fleet.meters import points_of
from fleet.models import Cart, RuleBook
from fleet.past_sites import sites_at
from fleet.rulebook import CLOSED_STARTS, Book
from fleet.standing import EVERYTHING, FOREVER, LAID_UP, LEFT_FLEET
from shared.clock import noon_of
from shared.models import Change, Site

JOINED, MOVED, WOKEN = "joined", "moved", "woken"
STARTED_UP, TOLD_COUNTS = "started up", "told counts"
# as a fitting says that they were on until then: no clock starts
TYRES_BEFORE = "tyres before"
EVENT_NAMES = {WOKEN: "woken", "tyre size": "tyre-size", STARTED_UP: "started-up"}
NOT_REACHED = "not-reached"


class Version(NamedTuple):
    """A rule book of a site, from when it is in force, and the change that made it."""

    at: datetime
    book: Book
    change_id: UUID


class Rest(NamedTuple):
    """A lay-up with the changes that began and ended it; ``woken`` None: it goes on."""

    laid_up: Change
    woken: Change | None
    lay_up: LayUp


@dataclass(frozen=True)
class Ground:
    """What carts share: the sites, each site's rule books by time, and the kinds of work."""

    sites: dict[UUID, Site]
    books: dict[UUID, list[Version]]

    @cached_property
    def contents(self) -> dict[str, frozenset[str]]:
        return {code: kind.content for code, kind in register.kinds.items()}

    @cached_property
    def gathering(self) -> frozenset[str]:
        return frozenset(code for code, kind in register.kinds.items() if kind.gathers)

    def day(self, site_id, at) -> date:
        return self.sites[site_id].day(at)


_parsed: dict[UUID, Book] = {}


def ground_of(all_facts, cut=EVERYTHING) -> Ground:
    """Read the sites where carts have been and their rule books, as they were within the cut.

    A site's first book is always among them: carts may be older than it.
    """
    site_ids = {site_id for facts in all_facts for _, site_id in site_stays(facts)}
    books = {site_id: [] for site_id in site_ids}
    for row in RuleBook.objects.filter(site_id__in=site_ids).order_by("version"):
        # a version never changes: parse it once a process
        if row.pk not in _parsed:
            _parsed[row.pk] = book_from_json(row.rules)
        if row.in_force_from <= min(cut.happened_by, cut.known_by) or not books[row.site_id]:
            books[row.site_id].append(Version(row.in_force_from, _parsed[row.pk], row.pk))
    return Ground(_sites(site_ids, cut), books)


def _sites(site_ids, cut):
    # the rows say what is known today: no question of the past needs asking
    return Site.objects.in_bulk(site_ids) if cut == EVERYTHING else sites_at(site_ids, cut)


def history_of(facts, ground: Ground, points=None) -> History:
    """Return what the schedule reads, from one cart's facts; its meters' ``points``, if known."""
    stays = site_stays(facts)
    hours, metres = points or points_of(facts, ground.sites)
    books = tuple(_books(stays, ground))
    return History(
        books=books,
        contents=ground.contents,
        gathering=ground.gathering,
        events=tuple(_events(facts, stays, ground)),
        rounds=tuple(_rounds(facts, ground)),
        lifts=tuple(_lifts(facts, stays, ground)),
        orders=tuple(_orders(facts, ground)),
        use_classes=tuple(_use_classes(facts)),
        hours=_seen(hours, stays, ground),
        metres=_seen(metres, stays, ground),
        lay_ups=tuple(one.lay_up for one in rests_of(facts, ground, books)),
        left=_left(facts, ground),
    )


def site_stays(facts):
    """Return [(from when, site id), ...]: where the cart has been, by time."""
    arrivals = (change for change in facts.changes if change.what in (JOINED, MOVED))
    return [(change.done_at, change.site_id) for change in arrivals]


def site_at(stays, at):
    """Return the site where the cart was: before it joined, the one it joined at."""
    place = bisect_right(stays, at, key=itemgetter(0))
    return stays[max(place - 1, 0)][1]


def _books(stays, ground):
    for place, (since, first, later) in enumerate(_versions(stays, ground)):
        for one in first:
            yield BookFrom(since if place else min(since, one.at), one.book, arrival=place > 0)
        yield from (BookFrom(one.at, one.book) for one in later)


def _versions(stays, ground):
    """Yield (from when, [the version then in force], later versions) of each stay at a site."""
    untils = [since for since, _ in stays[1:]] + [FOREVER]
    for (since, site_id), until in zip(stays, untils, strict=True):
        known = [one for one in ground.books[site_id] if one.at < until]
        first = [one for one in known if one.at <= since][-1:] or known[:1]
        yield since, first, [one for one in known if one.at > since and one not in first]


def _events(facts, stays, ground):
    for happening in facts.happenings:
        yield Event(
            happening.fact_id,
            happening.name,
            happening.at,
            ground.day(site_at(stays, happening.at), happening.at),
            subject=happening.subject,
            chapter=happening.chapter,
        )
    for change in facts.changes:
        if change.what in EVENT_NAMES:
            day = ground.day(change.site_id, change.done_at)
            name = EVENT_NAMES[change.what]
            yield Event(change.pk, name, change.done_at, day, due_by=_due_by(change))
        elif change.what == TOLD_COUNTS:
            yield from _told_work(change, facts, ground)
        elif change.what == MOVED or (change.what != JOINED and "use_class" in change.value):
            day = ground.day(change.site_id, change.done_at)
            yield Event(change.pk, OTHER_RULES, change.done_at, day)
    for _since, _first, later in _versions(stays, ground):
        for one in later:
            day = ground.day(site_at(stays, one.at), one.at)
            yield Event(one.change_id, OTHER_RULES, one.at, day)
    for row in facts.rounds:
        for fact, outcome in facts.parts.get(row.pk, ()):
            yield from _found_events(row, fact, outcome, ground)


def _due_by(change):
    days = change.value.get("due_by", {}) if change.what == STARTED_UP else {}
    return {kind: date.fromisoformat(day) for kind, day in days.items()}


def _told_work(change, facts, ground):
    """Yield work that nobody here saw as done at noon of the day that it is told of."""
    told = dict(change.value)
    fitting = _fitting_now(told.pop("fitting", None), facts)
    for kind, said in told.items():
        day = date.fromisoformat(said)
        at = min(noon_of(day, ground.sites[change.site_id].zone), change.done_at)
        yield Event(change.pk, CLOSED_STARTS + kind, at, day, chapter=fitting)


def _fitting_now(named, facts):
    """Return the telling that stands of the fitting that a change names, None for none."""
    if named is None:
        return None
    found = (one.fitting_id for one in facts.chapters if one.is_of(UUID(named)))
    return next(found, UUID(named))


def _found_events(row, fact, outcome, ground):
    found = [(start.event, start.subject) for start in outcome.starts]
    found += [(NOT_REACHED, joint) for joint in outcome.missed]
    day = ground.day(row.site_id, row.done_at)
    for name, subject in found:
        yield Event(fact.pk, name, row.done_at, day, subject=subject, found_in=row.pk)


def _rounds(facts, ground):
    for row in facts.rounds:
        held = set().union(*(held_in(facts, other) for other in facts.rounds if meet(row, other)))
        outcomes = [outcome for _, outcome in facts.counting(row)]
        pieces = frozenset().union(*(outcome.pieces for outcome in outcomes))
        left_out = frozenset().union(*(outcome.left_out for outcome in outcomes))
        day = ground.day(row.site_id, row.done_at)
        yield Done(row.pk, row.done_at, day, pieces - held, left_out, frozenset(held))


def held_in(facts, row):
    """Return the pieces of work that a round's findings keep from closing."""
    return {hold.piece for _, outcome in facts.parts.get(row.pk, ()) for hold in outcome.holds}


def meet(one, other):
    """Whether two rounds at a cart overlap in time: then the worst finding rules."""
    return one.opened_at <= other.done_at and other.opened_at <= one.done_at


def _lifts(facts, stays, ground):
    for chapter in facts.chapters:
        until = chapter.until_at
        yield Lift(
            chapter.fitting_id,
            chapter.kit_code,
            chapter.from_at,
            until,
            until and ground.day(site_at(stays, until), until),
            chapter.ended_by,
        )


def _orders(facts, ground):
    for order in facts.orders:
        yield Order(
            order.pk,
            order.kind_code,
            order.subject,
            order.done_at,
            ground.day(order.site_id, order.done_at),
            order.due_on,
            order.stops,
        )


def _use_classes(facts):
    for change in facts.changes:
        if "use_class" in change.value:
            yield (change.done_at, change.value["use_class"])
        elif change.what == JOINED:
            # the register shows this class too where nobody said one
            yield (change.done_at, str(Cart.use_class.field.default))


def rests_of(facts, ground, books):
    """Yield each Rest of a cart, in order of time."""
    laid_up = since = limits = None
    for change in facts.changes:
        at = facts.acts_at(change)
        day = ground.day(change.site_id, at)
        if change.what == LAID_UP and since is None:
            laid_up, since, limits = change, day, book_at(books, at).lay_up
        elif change.what == WOKEN and since is not None:
            # moved westward and woken at once, it wakes on an earlier day there
            yield Rest(laid_up, change, LayUp(since, max(since, day), limits))
            since = None
    if since is not None:
        yield Rest(laid_up, None, LayUp(since, limits=limits))


def _left(facts, ground):
    for change in facts.changes:
        if change.what == LEFT_FLEET:
            at = facts.acts_at(change)
            return Left(change.pk, at, ground.day(change.site_id, at))
    return None


def _seen(points, stays, ground):
    zones = [ZoneInfo(ground.sites[site_id].zone) for _since, site_id in stays]
    if len(zones) == 1:
        return tuple(Seen(point.at.astimezone(zones[0]).date(), point) for point in points)
    return tuple(Seen(ground.day(site_at(stays, point.at), point.at), point) for point in points)
