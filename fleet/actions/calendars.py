"""The secret addresses of people's calendars, and how often what they show has changed."""

import secrets
from datetime import timedelta

from django.db import transaction
from django.db.models import Q

from fleet.models import CalendarEvent, CalendarFeed
from shared.actions import hash_of

SECRET_BYTES = 32
ONCE_IN = timedelta(minutes=1)
BATCH_ROWS = 500


def make_feed(person, *, at) -> str:
    """Make the address of a person's calendar; return its secret, which is told this once.

    An address made before is dead with it.
    """
    secret = secrets.token_urlsafe(SECRET_BYTES)
    fresh = {"secret_hash": hash_of(secret), "made_at": at, "fetched_at": None}
    CalendarFeed.objects.update_or_create(person=person, defaults=fresh)
    return secret


def withdraw_feed(person) -> bool:
    """Let the address of a person's calendar be none; say whether there was one."""
    return CalendarFeed.objects.filter(person=person).delete()[0] > 0


def begin_fetch(feed, *, at) -> bool:
    """Note that a calendar is fetched; False when it was less than a minute ago.

    A fetch of a time to come was noted by a clock that has been set back since.
    """
    rested = Q(fetched_at=None) | Q(fetched_at__lte=at - ONCE_IN) | Q(fetched_at__gt=at)
    mine = CalendarFeed.objects.filter(rested, pk=feed.pk, secret_hash=feed.secret_hash)
    return mine.update(fetched_at=at) == 1


def tell(events, *, at) -> dict:
    """Return {about: CalendarEvent} of the events, one higher where what is shown changed.

    Most fetches change nothing and write nothing. Those at once wait for each other's rows
    and count a change once.
    """
    rows = _rows_of(events, CalendarEvent.objects.all())
    changed = [one for one in events if _differs(rows.get(one.about), one)]
    return rows | _renumber(changed, at) if changed else rows


def _differs(row, event):
    return row is None or row.shown != event.shown


def _rows_of(events, rows):
    about = sorted(event.about for event in events)
    found = {}
    for start in range(0, len(about), BATCH_ROWS):
        found |= rows.in_bulk(about[start : start + BATCH_ROWS])
    return found


@transaction.atomic
def _renumber(events, at):
    """Write the events anew, in one order so that two at once cannot deadlock."""
    events = sorted(events, key=lambda event: event.about)
    fresh = [CalendarEvent(about=one.about, shown=one.shown, changed_at=at) for one in events]
    CalendarEvent.objects.bulk_create(fresh, ignore_conflicts=True, batch_size=BATCH_ROWS)
    rows = _rows_of(events, CalendarEvent.objects.select_for_update().order_by("about"))
    moved = [_moved(rows[one.about], one, at) for one in events if _differs(rows[one.about], one)]
    fields = ["sequence", "shown", "changed_at"]
    CalendarEvent.objects.bulk_update(moved, fields, batch_size=BATCH_ROWS)
    return rows


def _moved(row, event, at):
    row.sequence += 1
    row.shown = event.shown
    row.changed_at = max(at, row.changed_at)
    return row
