"""When things were last done, how long ago that is, and since when the service keeps records."""

from datetime import timedelta

from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.utils.translation import gettext as _

from shared.models import Entry, JournalHead, LastDone

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
FEW = 3


def last(what) -> LastDone | None:
    return LastDone.objects.filter(what=what).first()


def age_of(what, at) -> timedelta | None:
    """Return how long ago something was last done, None if never."""
    row = last(what)
    return row and at - row.at


def is_newer(what, than) -> bool:
    """Whether something happened since another thing last did."""
    this, other = last(what), last(than)
    return this is not None and (other is None or other.at < this.at)


def service_age(at) -> timedelta | None:
    """Return for how long records are kept here, None before the first.

    Brought-in history is older than the database it was brought into.
    """
    # a journal's first entry is its oldest, and found without reading the others
    heads = JournalHead.objects.filter(size__gt=0).values_list("site_id", flat=True)
    firsts = [Entry.objects.filter(site_id=site_id).order_by("seq").first() for site_id in heads]
    if not firsts:
        return None
    made = MigrationRecorder(connection).migration_qs.order_by("applied").first()
    return at - max(min(first.received_at for first in firsts), made.applied)


def is_older(age, than) -> bool:
    return age is not None and age > than


def said(age: timedelta) -> str:
    """Say an age in the unit that fits it."""
    if abs(age) < 2 * HOUR:
        return _("%(count)s min") % {"count": age // timedelta(minutes=1)}
    if abs(age) < FEW * DAY:
        return _("%(count)s h") % {"count": age // HOUR}
    return _("%(count)s days") % {"count": age // DAY}


def ago(age: timedelta) -> str:
    return _("%(age)s ago") % {"age": said(age)}
