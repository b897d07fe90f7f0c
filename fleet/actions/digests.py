"""The one mail a day: planned at the morning of the home site, filled when it is sent."""

from collections import defaultdict
from functools import cache
from typing import NamedTuple

from django.db import transaction
from django.db.models import Exists, OuterRef
from django.utils.translation import gettext as _

from fleet import emails
from fleet.actions import claims, digest_rows
from fleet.doctor import signs
from fleet.doctor.clocks import is_believed
from fleet.models import Digest, Notice
from fleet.morning import Mornings, as_text
from shared.models import Role
from shared.trials import kill_point

MONDAY = 0
PEOPLE_A_LOOK = 50


def plan(days, *, at) -> int:
    """Write the digest row of everybody whose morning has come; return how many."""
    wanted, homes = set(), {}
    for person, memberships in _people(days).items():
        home = days.get(person.home_site_id) or days[memberships[0].site_id]
        if at >= home.morning_at and home.today > home.told_until:
            wanted.add((person.pk, home.today))
            homes[person.pk, home.today] = (home.site.pk, person.pk)
    planned = Digest.objects.filter(
        person_id__in={person for person, _day in wanted}, day__in={day for _p, day in wanted}
    )
    # people of one site follow each other: it is looked at once for all of them
    fresh = sorted(wanted - set(planned.values_list("person_id", "day")), key=homes.get)
    rows = [Digest(person_id=person, day=day, planned_at=at) for person, day in fresh]
    with transaction.atomic():
        Digest.objects.bulk_create(rows, ignore_conflicts=True)
        kill_point("before-tick-commit")
    kill_point("after-tick-commit")
    return len(rows)


def _people(days):
    found = defaultdict(list)
    for here in days.values():
        for membership in here.memberships:
            found[membership.person].append(membership)
    return found


def people_waiting(*, at) -> list:
    """Return the ids of the people whose digests may go out now, in their order."""
    _drop_overtaken(at)
    rows = claims.waiting(Digest.objects.all(), at)
    return list(dict.fromkeys(rows.values_list("person_id", flat=True)))


def send(days, post, *, at, to, waiting=()):
    """Mail the digests that wait for the people ``to``; see claims.send_each on crashes.

    ``waiting``: people who also have sites not among ``days``; without any other, theirs wait.
    """
    people = {person.pk: (person, rows) for person, rows in _people(days).items()}

    @cache
    def state():
        """Return how the service is, looked at once however many are told."""
        return signs(at)

    def act(held, post, *, at):
        (digest,) = held
        return _send(digest, people.get(digest.person_id), around, post, state, at)

    rows = Digest.objects.filter(person_id__in=set(to) - (set(waiting) - set(people)))
    around = _Around(Mornings(days), _Owed(claims.waiting(rows, at), days, at))
    return claims.send_each(rows, act, post, at=at)


class _Around(NamedTuple):
    """What the mails of a batch are filled from."""

    mornings: Mornings
    owed: "_Owed"


class _Owed:
    """What a mail of today may carry; what waits at other sites waits on.

    Read for many people at a time, those whose mails are next.
    """

    def __init__(self, digests, days, at):
        self.next = list(digests.values_list("person_id", flat=True))
        self.places = {person_id: place for place, person_id in enumerate(self.next)}
        rows = Notice.objects.filter(claims.WAITING[Notice], made_at__lte=at, at_once=False)
        self.rows = rows.filter(site_id__in=days)
        self.found = {}

    def of(self, person_id):
        """Return (id, what it is about, its stage) of each notice."""
        if person_id not in self.found:
            place = self.places.get(person_id, len(self.next))
            self._read([person_id, *self.next[place : place + PEOPLE_A_LOOK]])
        return self.found.pop(person_id)

    def _read(self, people):
        self.found = {person_id: [] for person_id in people}
        rows = self.rows.filter(person_id__in=people).order_by()
        for person_id, *notice in rows.values_list("person_id", "pk", as_text("about"), "stage"):
            self.found[person_id].append(notice)


def _drop_overtaken(at):
    """A day's digest that never went out is carried by the next: it lists what stands.

    One that was planned while the clock was ahead takes no place before its day, nor any
    while the clock is not to be believed: the day that it is may not be that day.
    """
    if not is_believed(at):
        return
    planned = Digest.objects.filter(planned_at__lte=at)
    later = planned.filter(person=OuterRef("person"), day__gt=OuterRef("day"))
    claims.drop(Digest.objects.filter(Exists(later)), _("the next day's mail took its place"))


def _send(digest, known, around, post, state, at):
    """Mail what stands for the person; without anything, or any role, only mark the row.

    A manager's on a Monday also says how the service is, and goes whatever stands: that it
    does not come is how a silent service is noticed.
    """
    if known is None:
        row = Digest.objects.filter(pk=digest.pk)
        claims.drop(row, _("the person has no role any more"))
        return "dropped"
    person, memberships = known
    owed = around.owed.of(person.pk)
    opened = frozenset(about for _pk, about, stage in owed if stage == Notice.Stage.OPEN)
    pages = around.mornings.pages(memberships, opened)
    how_it_is = state() if _is_told_how_it_is(digest, memberships) else []
    is_mailed = bool(pages or how_it_is)
    if is_mailed:
        message = emails.digest(person, pages, digest.day, how_it_is)
        claims.send([digest], message, post, at=at)
    _settle(digest, pages, owed, at, is_mailed)
    return "sent" if is_mailed else "empty"


def _is_told_how_it_is(digest, memberships):
    return digest.day.weekday() == MONDAY and any(row.role == Role.MANAGER for row in memberships)


def _settle(digest, pages, owed, at, is_mailed):
    """Mark the digest and the notices that it carried; what no longer stands is dropped."""
    carried = frozenset().union(*(page.abouts for page in pages))
    kept, gone = [], []
    for pk, about, _stage in owed:
        (kept if about in carried else gone).append(pk)
    why = _("over before the daily mail")
    digest_rows.settle(digest, kept, gone, why=why, at=at, is_mailed=is_mailed)
