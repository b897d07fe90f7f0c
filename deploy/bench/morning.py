"""A usual morning: all that is older has been told, and everybody is owed what is new today."""

from contextlib import contextmanager
from datetime import date, timedelta
from uuid import uuid5

from django.db import connection

from deploy.bench import pattern
from fleet.actions import digests, notices
from fleet.models import Digest, Notice
from fleet.reminding import site_days
from shared.models import Membership, Person, Role, Site

# as many mails at each scale: by few sites with many people, or many with three
MAILS = 300
MOST_SITES = 100
A_DAY = timedelta(days=1)
ANALYZED = (Person, Membership, Notice, Digest)


@contextmanager
def told_of_before(at):
    """Write what people of the sites are owed at a moment and yet to be sent; forget it after."""
    sites = list(Site.objects.filter(slug__startswith=f"{pattern.SLUG}-")[:MOST_SITES])
    people = _people(sites)
    try:
        _told(sites, at - A_DAY)
        days = _days(sites, at)
        notices.make(days, at=at)
        digests.plan(days, at=at)
        _count()
        yield
    finally:
        for rows in (Notice, Digest):
            rows.objects.all().delete()
        Membership.objects.filter(person__in=people).delete()
        Person.objects.filter(pk__in=[person.pk for person in people]).delete()


def owe_again():
    """Have all that was sent this morning wait again, as if nobody had mailed it."""
    today = Digest.objects.latest("day").planned_at
    asked = {"sent_at": None, "dropped": "", "claimed_at": None, "attempts": 0}
    asked |= {"sending_at": None, "next_try_at": None}
    Digest.objects.filter(planned_at=today).update(**asked, empty=False)
    Notice.objects.filter(made_at=today).update(**asked)
    _count()


def _people(sites):
    """Add mechanics, so that each site has three people or more who get a mail."""
    more = MAILS // len(sites) - 2
    people, rows = [], []
    for site in sites:
        for number in range(more):
            email = f"{number}.more@{site.slug}.example"
            people.append(
                Person(pk=uuid5(pattern.SEED, email), email=email, name="More", home_site=site)
            )
            rows.append(
                Membership(
                    site=site, person=people[-1], role=Role.MECHANIC, from_day=date(2020, 1, 1)
                )
            )
    Person.objects.bulk_create(people)
    Membership.objects.bulk_create(rows)
    return people


def _told(sites, at):
    """Write what they were owed until a moment, and that it was sent."""
    days = _days(sites, at)
    notices.make(days, at=at)
    digests.plan(days, at=at)
    Notice.objects.update(sent_at=at)
    Digest.objects.update(sent_at=at)


def _days(sites, at):
    mine = {site.pk for site in sites}
    return {pk: here for pk, here in site_days(at).items() if pk in mine}


def _count():
    """Let the planner know the rows, which autovacuum does where it is on."""
    with connection.cursor() as cursor:
        for model in ANALYZED:
            cursor.execute(f"VACUUM ANALYZE {model._meta.db_table}")
