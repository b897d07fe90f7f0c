"""What calls for a mail at once: a tag, a stopped cart that runs, two rounds, a doubted tool.

No writes.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from uuid import UUID

from django.db.models import Count, Exists, OuterRef

from fleet.gather import meet
from fleet.kinds import Cut, register
from fleet.meters import points_of
from fleet.models import HandBack, Notice, Reading, Round, Tag
from fleet.reminding import AT_REST, BEGAN_WITHIN, Stage, rechecks_at
from fleet.standing import facts_of
from shared.models import Site

RUNS_ON_AFTER = timedelta(days=7)


@dataclass(frozen=True)
class Call:
    """Something to tell at once: the stage, the cart if any, and the fact it is about."""

    stage: str
    cart_id: UUID | None
    about: UUID
    day: date


@dataclass(frozen=True)
class Rise:
    """A meter that shows more life than its true reading before: hours, or true metres."""

    measure: str
    before_at: datetime
    at: datetime
    more: Decimal


def calls_at(days, here, at):
    """Return the calls of the site ``here`` that began lately, of all ``days``."""
    sites = {day.site.pk: day.site for day in days.values()}
    running = _running(here, sites, at)
    return [*_tags_put_on(here, at), *running, *_meeting(here, at), *_in_doubt(here, at)]


def open_tags():
    """Tags that stand and that no standing hand-back has answered.

    Also one put on while the clock was ahead: nothing yet to be done is ever recorded.
    """
    answered = HandBack.objects.filter(tag=OuterRef("pk")).standing()
    return Tag.objects.standing().filter(~Exists(answered))


def _tags_put_on(here, at):
    # by way of the cart: tagged ones are few, tags grow for ever
    tags = open_tags().filter(cart__site=here.site, cart__is_tagged=True, brought_in=False)
    for tag in tags.filter(done_at__gt=at - BEGAN_WITHIN):
        yield Call(Stage.TAGGED, tag.cart_id, tag.pk, here.site.day(tag.done_at))


def _running(here, sites, at):
    """Yield what a stopped cart's readings tell that rose after the stop.

    The first of each day, and once for its longest stopped recheck the first of a week later.
    """
    # that it opened says nothing more, but has an index
    stopped = rechecks_at(here.site).filter(stops_on__lte=here.today, opens_on__lte=here.today)
    rows = stopped.order_by("-stops_on", "-id").values_list("cart_id", "id", "stops_on", named=True)
    longest = {row.cart_id: row for row in rows}
    read = Reading.objects.filter(cart_id__in=longest, done_at__gt=at - BEGAN_WITHIN)
    ids = set(read.known(at).values_list("cart_id", flat=True))
    told = facts_of(sorted(ids), Cut.known_now(at)) if ids else {}
    for cart_id, facts in told.items():
        recheck = longest[cart_id]
        first = _first_rises(facts, here.site, sites)
        for day, reading in first.items():
            if day > recheck.stops_on and reading.done_at > at - BEGAN_WITHIN:
                yield Call(Stage.MOVING, cart_id, reading.pk, day)
        if runs_on := [day for day in first if day >= recheck.stops_on + RUNS_ON_AFTER]:
            yield Call(Stage.RUNS_ON, cart_id, recheck.id, min(runs_on))


def first_rise(recheck, site, at):
    """Return the first reading that rose a week or more after a recheck's stop, None without."""
    facts = facts_of([recheck.cart_id], Cut.known_now(at)).get(recheck.cart_id)
    first = _first_rises(facts, site, Site.objects.in_bulk()) if facts else {}
    late = [day for day in first if day >= recheck.stops_on + RUNS_ON_AFTER]
    return first[min(late)] if late else None


def _first_rises(facts, site, sites):
    moments = {rise.at for rise in rises(facts, sites)}
    first = {}
    for reading in facts.readings:
        if reading.source != Reading.Source.ESTIMATED and reading.done_at in moments:
            first.setdefault(site.day(reading.done_at), reading)
    return first


def rises(facts, sites):
    """Return every Rise among a cart's true readings."""
    found = []
    for measure, points in zip(("hours", "distance"), points_of(facts, sites), strict=True):
        true = [point for point in points if not point.estimated]
        found += [
            Rise(measure, before.at, after.at, after.life - before.life)
            for before, after in pairwise(true)
            if after.life > before.life
        ]
    return found


def _meeting(here, at):
    """Yield the later written of each two rounds at one cart that overlap."""
    lately = Round.objects.filter(cart__site=here.site, done_at__gt=at - BEGAN_WITHIN)
    lately = lately.filter(brought_in=False).known(at)
    visits = lately.order_by().values("cart_id").annotate(rounds=Count("pk"))
    by_cart = defaultdict(list)
    for row in lately.filter(cart_id__in=_visited_twice(visits)).standing():
        by_cart[row.cart_id].append(row)
    for rows in by_cart.values():
        rows.sort(key=lambda row: (row.received_at, row.pk))
        for place, row in enumerate(rows):
            if any(meet(row, earlier) for earlier in rows[:place]):
                yield Call(Stage.TWO_ROUNDS, row.cart_id, row.pk, here.site.day(row.done_at))


def _visited_twice(visits):
    return list(visits.filter(rounds__gt=1).values_list("cart_id", flat=True))


def rounds_met(notice, at):
    """Return the round that a notice is about with those that overlap it, none if struck."""
    rows = list(Round.objects.filter(cart=notice.cart).known(at).standing())
    about = [row for row in rows if row.pk == notice.about]
    others = [row for row in rows if row.pk != notice.about and about and meet(row, about[0])]
    return about + others


def _in_doubt(here, at):
    for doubt in _doubts(here.site, at):
        yield Call(Stage.DOUBTED, None, doubt.about, here.site.day(doubt.known_at))


def _doubts(site, at):
    after = at - BEGAN_WITHIN
    return [doubt for find in register.doubts for doubt in find(site, after, at)]


def doubt_of(notice, at):
    """Return the doubt that a notice is about, None when it is over."""
    found = (doubt for doubt in _doubts(notice.site, at) if doubt.about == notice.about)
    return next(found, None)


def still_calls(notice: Notice, here, at) -> bool:
    """Whether what was to be told at once is still so."""
    if notice.stage == Stage.DOUBTED:
        return doubt_of(notice, at) is not None
    if notice.cart.site_id != notice.site_id:
        return False
    if notice.stage == Stage.TAGGED:
        return open_tags().filter(pk=notice.about).exists()
    if notice.stage == Stage.TWO_ROUNDS:
        return len(rounds_met(notice, at)) > 1
    if notice.cart.condition in AT_REST:
        return False
    stopped = rechecks_at(here.site).filter(cart=notice.cart, stops_on__lte=here.today)
    if notice.stage == Stage.ABOVE:
        return stopped.filter(pk=notice.about).exists()
    if notice.stage == Stage.RUNS_ON:
        recheck = stopped.filter(pk=notice.about).first()
        return recheck is not None and first_rise(recheck, here.site, at) is not None
    stands = Reading.objects.filter(pk=notice.about).known(at).standing()
    return stands.exists() and stopped.exists()
