"""Whether long jobs are taken up and end."""

from datetime import timedelta

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.actions.jobs import LEASE, MOST_AT_ONCE, RUNNING, WAITING
from fleet.doctor.sign import trouble, well
from fleet.jobs import kinds

WAITS_LONG = timedelta(minutes=10)
# the sweep takes a lapsed one up within a minute
LAPSED_LONG = LEASE + timedelta(minutes=3)


def stuck(at):
    count = len(waiting_long(at)) + len(lapsed(at))
    if count:
        said = ngettext(
            "%(count)s import or bundle waits to be taken up.",
            "%(count)s imports or bundles wait to be taken up.",
            count,
        )
        todo = _("See whether the sweep goes on; the log says why a job's process ended.")
        return trouble(said % {"count": count}, todo)
    return well(_("None waits long."))


def waiting_long(at):
    """Return those that wait although there is room to run them."""
    if len(_ids(state=RUNNING, leased_at__gte=at - LEASE)) >= MOST_AT_ONCE:
        return []
    return _ids(state=WAITING, asked_at__lt=at - WAITS_LONG)


def lapsed(at):
    return _ids(state=RUNNING, leased_at__lt=at - LAPSED_LONG)


def waiting_count():
    return len(_ids(state=WAITING))


def _ids(**which):
    models = {kind.model for kind in kinds.values()}
    return [pk for model in models for pk in model.objects.filter(**which).values_list("pk")]
