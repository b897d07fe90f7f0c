"""When things were last done, how long ago that is, and since when the service keeps records."""

from datetime import timedelta

from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.utils.translation import gettext as _

from shared.models import Entry, LastDone

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
    first = Entry.objects.order_by("received_at").values_list("received_at", flat=True).first()
    if first is None:
        return None
    made = MigrationRecorder(connection).migration_qs.order_by("applied").first()
    return at - max(first, made.applied)


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
