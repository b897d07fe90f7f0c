"""The one mail a day: planned at the morning of the home site, filled when it is sent."""

from collections import defaultdict

from django.db import transaction
from django.db.models import Exists, OuterRef
from django.utils.translation import gettext as _

from fleet import emails
from fleet.actions import claims
from fleet.models import Digest, Notice
from fleet.morning import standing


def plan(days, *, at) -> int:
    """Write the digest row of everybody whose morning has come; return how many."""
    wanted = set()
    for person, memberships in _people(days).items():
        home = days.get(person.home_site_id) or days[memberships[0].site_id]
        if at >= home.morning_at and home.today > home.told_until:
            wanted.add((person.pk, home.today))
    planned = Digest.objects.filter(
        person_id__in={person for person, _day in wanted}, day__in={day for _p, day in wanted}
    )
    fresh = sorted(wanted - set(planned.values_list("person_id", "day")))
    rows = [Digest(person_id=person, day=day, planned_at=at) for person, day in fresh]
    Digest.objects.bulk_create(rows, ignore_conflicts=True)
    return len(rows)


def _people(days):
    found = defaultdict(list)
    for here in days.values():
        for membership in here.memberships:
            found[membership.person].append(membership)
    return found


def send(days, post, *, at, waiting=()):
    """Mail the digests that wait; see claims.send_each on crashes.

    ``waiting``: people who also have sites not among ``days``; without any other, theirs wait.
    """
    people = {person.pk: (person, rows) for person, rows in _people(days).items()}

    def act(digest, post, *, at):
        return _send(digest, people.get(digest.person_id), days, post, at)

    _drop_overtaken()
    rows = Digest.objects.exclude(person_id__in=set(waiting) - set(people))
    return claims.send_each(rows, act, post, at=at)


def _drop_overtaken():
    """A day's digest that never went out is carried by the next: it lists what stands."""
    later = Digest.objects.filter(person=OuterRef("person"), day__gt=OuterRef("day"))
    claims.drop(Digest.objects.filter(Exists(later)), _("the next day's mail took its place"))


def _send(digest, known, days, post, at):
    """Mail what stands for the person; without anything, or any role, only mark the row."""
    if known is None:
        row = Digest.objects.filter(pk=digest.pk)
        claims.drop(row, _("the person has no role any more"))
        return "dropped"
    person, memberships = known
    owed = list(_owed(person, at))
    pages = standing(memberships, days, owed, at)
    if pages:
        post.send(emails.digest(person, pages, digest.day))
    _settle(digest, pages, owed, at)
    return "sent" if pages else "empty"


def _owed(person, at):
    waiting = Notice.objects.filter(claims.WAITING[Notice], person=person, made_at__lte=at)
    return waiting.filter(at_once=False)


@transaction.atomic
def _settle(digest, pages, owed, at):
    """Mark the digest and the notices that it carried; what no longer stands is dropped."""
    carried = {about for page in pages for about in page.abouts}
    gone = [notice.pk for notice in owed if notice.about not in carried]
    kept = [notice.pk for notice in owed if notice.about in carried]
    Notice.objects.filter(claims.WAITING[Notice], pk__in=kept).update(sent_at=at)
    claims.drop(Notice.objects.filter(pk__in=gone), _("over before the daily mail"))
    claims.settle(digest, **({"sent_at": at} if pages else {"empty": True}))
