"""Whom reminders are for, and what they may be about. No writes.

Nothing that began more than BEGAN_WITHIN ago makes a notice: an import's backlog, or
the days before the tool first ran, stand in the digest alone, which lists what stands.
"""

import logging
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from fleet.models import Cart, Notice, Recheck
from shared.clock import moment_of
from shared.models import Membership, Role, Site

log = logging.getLogger(__name__)

BEGAN_WITHIN = timedelta(days=7)
Stage = Notice.Stage
ROLES_TOLD = {
    Stage.OPEN: {Role.MECHANIC},
    Stage.DUE: {Role.MECHANIC, Role.MANAGER},
    Stage.LATE: {Role.MECHANIC, Role.MANAGER},
    Stage.STOPPED: {Role.MECHANIC, Role.MANAGER},
    Stage.TAGGED: {Role.MECHANIC, Role.MANAGER, Role.DESK},
    Stage.MOVING: {Role.MECHANIC, Role.MANAGER},
    Stage.TWO_ROUNDS: {Role.MANAGER},
}
AT_REST = (Cart.Condition.LAID_UP, Cart.Condition.LEFT)


@dataclass(frozen=True)
class SiteDay:
    """A site at a moment: its day, when its digests go out, the roles in force there."""

    site: Site
    today: date
    morning_at: datetime
    memberships: tuple[Membership, ...]

    def told(self, stage):
        """Return the memberships of those who are told of a stage."""
        return [row for row in self.memberships if row.role in ROLES_TOLD[stage]]


def site_days(at) -> dict:
    """Return {site id: SiteDay}; a site whose zone or hour cannot be read is left out."""
    by_site = defaultdict(list)
    people = Membership.objects.filter(person__is_active=True).exclude(role=Role.SURVEYOR)
    for row in people.select_related("person").order_by("person_id"):
        by_site[row.site_id].append(row)
    found = {}
    for site in Site.objects.order_by("pk"):
        try:
            found[site.pk] = _site_day(site, by_site[site.pk], at)
        except (LookupError, ValueError):
            log.exception("no reminders for the site %s", site.slug)
    return found


def _site_day(site, memberships, at):
    today = site.day(at)
    in_force = (row for row in memberships if is_in_force(row, today))
    return SiteDay(site, today, moment_of(today, site.digest_hour, site.zone), tuple(in_force))


def is_in_force(membership, day):
    return membership.from_day <= day and (membership.to_day is None or day <= membership.to_day)


def rechecks_at(site):
    """Active rechecks of carts that may be reminded of: not tagged, laid up or left."""
    awake = Recheck.objects.active().filter(site=site, cart__is_tagged=False)
    return awake.exclude(cart__condition__in=AT_REST)
