"""Whether rows that lists read agree with the facts, and whether somebody floods the door."""

from datetime import timedelta
from random import Random

from django.conf import settings
from django.utils.translation import gettext as _

from fleet.actions import project
from fleet.doctor.sign import trouble, well
from fleet.models import Cart
from shared.models import SignInTry

SAMPLE_CARTS = 20
HOUR = timedelta(hours=1)
# five addresses that each use up all that one may try
TRIES_AN_HOUR = 500


def rechecks(at):
    """Make the rows of some carts anew, others each hour, and compare."""
    ids = list(Cart.objects.order_by("pk").values_list("pk", flat=True))
    turn = Random(int(at.timestamp()) // int(HOUR.total_seconds()))
    some = turn.sample(ids, min(SAMPLE_CARTS, len(ids)))
    if project.differences(some):
        said = _("Rows of carts or rechecks differ from what was recorded.")
        todo = _("Run manage.py reproject, and say what it prints to who looks after the tool.")
        return trouble(said, todo)
    return well(_("The rows of %(count)s carts agree with the facts.") % {"count": len(some)})


def tries(at):
    count = SignInTry.objects.since(at - HOUR).count()
    said = _("%(count)s tries to sign in within the hour.") % {"count": count}
    if count > TRIES_AN_HOUR:
        return trouble(said, _("Somebody guesses passwords: see the addresses in the proxy's log."))
    return well(said)


def debug(at):
    if settings.DEBUG:
        said = _("Errors are shown in the browser, with the tool's insides.")
        return trouble(said, _("Take FLEET_DEBUG away and start again."))
    return None
