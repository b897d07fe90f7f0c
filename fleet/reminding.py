"""Whom reminders are for, and what they may be about. No writes.

Nothing that began more than BEGAN_WITHIN ago makes a notice: an import's backlog, or
the days before the tool first ran, stand in the digest alone, which lists what stands.
"""

import logging
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from fleet.models import Cart, Notice, Recheck
from shared import checkpoint
from shared.clock import morning_of
from shared.models import Membership, Restore, Role, Site

log = logging.getLogger(__name__)

BEGAN_WITHIN = timedelta(days=7)
Stage = Notice.Stage
ROLES_TOLD = {
    Stage.OPEN: {Role.MECHANIC},
    Stage.DUE: {Role.MECHANIC, Role.MANAGER},
    Stage.LATE: {Role.MECHANIC, Role.MANAGER},
    Stage.STOPPED: {Role.MECHANIC, Role.MANAGER},
    Stage.TAGGED: {Role.MECHANIC, Role.MANAGER, Role.DESK},
    Stage.ABOVE: set(),
    Stage.MOVING: {Role.MECHANIC, Role.MANAGER},
    Stage.RUNS_ON: {Role.MANAGER},
    Stage.TWO_ROUNDS: {Role.MANAGER},
    Stage.DOUBTED: {Role.MECHANIC, Role.MANAGER},
}
# who answers for the carts hears of these, whatever they chose
NEVER_WITHOUT = {Role.MANAGER: {Stage.STOPPED, Stage.TAGGED, Stage.MOVING, Stage.RUNS_ON}}
KEEPERS = (Role.MANAGER, Role.SURVEYOR)
AT_REST = (Cart.Condition.LAID_UP, Cart.Condition.LEFT)


@dataclass(frozen=True)
class SiteDay:
    """A site at a moment: its day, when its digests go out, the roles in force there.

    ``memberships`` are of those who work there, ``keepers`` of those who get checkpoints.
    ``told_until``: the last day whose mail went out from a database that was lost since.
    """

    site: Site
    today: date
    morning_at: datetime
    memberships: tuple[Membership, ...]
    keepers: tuple[Membership, ...] = ()
    told_until: date = date.min

    def told(self, stage):
        """Return the memberships of those who are told of a stage."""
        return [row for row in self.memberships if row.role in ROLES_TOLD[stage]]


def site_days(at) -> dict:
    """Return {site id: SiteDay}; a site whose zone or hour cannot be read is left out."""
    by_site = defaultdict(list)
    people = Membership.objects.filter(person__is_active=True)
    for row in people.select_related("person").order_by("person_id"):
        by_site[row.site_id].append(row)
    lately = Restore.objects.filter(received_at__gt=at - BEGAN_WITHIN).order_by("received_at")
    restores = {restore.site_id: restore for restore in lately}
    found = {}
    for site in Site.objects.order_by("pk"):
        try:
            found[site.pk] = _site_day(site, by_site[site.pk], restores.get(site.pk), at)
        except (LookupError, ValueError):
            log.exception("no reminders for the site %s", site.slug)
    return found


def _site_day(site, memberships, restore, at):
    today = site.day(at)
    in_force = [row for row in memberships if is_in_force(row, today)]
    working = tuple(row for row in in_force if row.role != Role.SURVEYOR)
    keepers = tuple(row for row in in_force if row.role in KEEPERS)
    morning_at = morning_of(today, site.digest_hour, site.zone)
    return SiteDay(site, today, morning_at, working, keepers, _told_until(site, restore))


def _told_until(site, restore):
    """Return the last day whose mails a lost database had sent, by its newest checkpoint.

    Nothing else outside tells of them. A sweep signs before it mails, so the mails of that
    morning may be lost with the database; the next day's lists what stands.
    """
    if restore is None:
        return date.min
    signed_at = checkpoint.read(restore.outside).at
    day = site.day(signed_at)
    was_told = signed_at >= morning_of(day, site.digest_hour, site.zone)
    return day if was_told else day - timedelta(days=1)


def is_in_force(membership, day):
    return membership.from_day <= day and (membership.to_day is None or day <= membership.to_day)


def may_do_without(role, stage):
    """Whether somebody of a role may choose not to be mailed of a stage."""
    return stage not in NEVER_WITHOUT.get(role, ())


def rechecks_at(site):
    """Active rechecks of carts that may be reminded of: not tagged, laid up or left."""
    awake = Recheck.objects.active().filter(site=site, cart__is_tagged=False)
    return awake.exclude(cart__condition__in=AT_REST)
