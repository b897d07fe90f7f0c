"""What a person's calendar holds: the rechecks at their sites, each on its due day. No writes."""

from datetime import timedelta
from urllib.parse import urlsplit

from django.conf import settings
from django.urls import reverse
from django.utils.translation import gettext as _

from fleet.board import STATE_WORDS
from fleet.calendar_text import Event
from fleet.due import LATE, STOPPED, state_on
from fleet.morning import work_of
from fleet.reminding import ROLES_TOLD, Stage, rechecks_at

AHEAD = timedelta(days=90)


def roles_told(viewer):
    """Return the person's roles in force that are told of work; without any, no calendar."""
    return [row for row in viewer.memberships if row.role in ROLES_TOLD[Stage.DUE]]


def events_of(viewer) -> list[Event]:
    """Return what falls due within 90 days or has fallen due, of carts that may be reminded of."""
    return [
        _event(recheck, row.site, row.site.day(viewer.at))
        for row in roles_told(viewer)
        for recheck in _rechecks(row.site, row.site.day(viewer.at))
    ]


def _rechecks(site, today):
    found = rechecks_at(site).filter(due_on__lte=today + AHEAD)
    return found.select_related("cart").order_by("due_on", "id")


def _event(recheck, site, today):
    return Event(
        about=recheck.pk,
        day=recheck.due_on,
        summary=_summary(recheck, state_on(recheck, today)),
        url=f"{settings.FLEET_URL}{reverse('cart-detail', args=[site.slug, recheck.cart_id])}",
        is_sure=not (recheck.is_forecast or recheck.is_estimated),
    )


def _summary(recheck, state):
    told = {"number": recheck.cart.number, "work": work_of(recheck), "state": STATE_WORDS[state]}
    if state in (LATE, STOPPED):
        return _("Cart %(number)s: %(work)s (%(state)s)") % told
    return _("Cart %(number)s: %(work)s") % told


def name_of(viewer):
    """Return the calendar's name: the sites whose work it holds."""
    sites = ", ".join(row.site.name for row in roles_told(viewer))
    return _("Rechecks at %(sites)s") % {"sites": sites}


def host():
    return urlsplit(settings.FLEET_URL).hostname or "localhost"


def address_of(secret):
    """Return the whole address of a calendar, as it is given to a calendar program."""
    return f"{settings.FLEET_URL}{reverse('calendar-feed', args=[secret])}"
