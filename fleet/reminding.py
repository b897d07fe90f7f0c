"""Whom reminders are for, and what they may be about. No writes.

Nothing that began more than BEGAN_WITHIN ago makes a notice: an import's backlog, or
the days before the tool first ran, stand in the digest alone, which lists what stands.
"""

import logging
from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from fleet.models import Cart, Notice, Recheck, ReminderChoice
from fleet.quiet import quiet_until
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
# told to those above as well, whatever their role
TOLD_ABOVE = {Stage.ABOVE, Stage.RUNS_ON}
TOLD_AT_ONCE = (
    Stage.TAGGED,
    Stage.ABOVE,
    Stage.MOVING,
    Stage.RUNS_ON,
    Stage.TWO_ROUNDS,
    Stage.DOUBTED,
)
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
    choices: dict = field(default_factory=dict)

    def told(self, stage):
        """Return the memberships of those who are told of a stage, and do not do without it."""
        return [row for row in self.everyone if self.is_told(row, stage)]

    @property
    def everyone(self):
        return list({row.pk: row for row in (*self.memberships, *self.keepers)}.values())

    def is_told(self, membership, stage):
        if not tells(membership, stage):
            return False
        choice = self.choices.get(membership.person_id)
        left_out = choice is not None and stage in choice.without
        return not left_out or not may_do_without(membership.role, stage)

    def is_quiet(self, person, at):
        """Whether the person has quiet hours now, by the clock of their home site."""
        choice = self.choices.get(person.pk) or ReminderChoice()
        hours = (choice.quiet_from, choice.quiet_until)
        try:
            return quiet_until(at, (person.home_site or self.site).zone, *hours) is not None
        except (LookupError, ValueError):
            return quiet_until(at, self.site.zone, *hours) is not None


def site_days(at, people=None) -> dict:
    """Return {site id: SiteDay}; a site whose zone or hour cannot be read is left out.

    With ``people`` only of the sites at which one of them has a role.
    """
    sites, rows = Site.objects.order_by("pk"), Membership.objects.all()
    if people is not None:
        theirs = set(rows.filter(person__in=people).values_list("site_id", flat=True))
        sites, rows = sites.filter(pk__in=theirs), rows.filter(site__in=theirs)
    by_site = defaultdict(list)
    active = rows.filter(person__is_active=True).select_related("person__home_site")
    for row in active.order_by("person_id"):
        by_site[row.site_id].append(row)
    return _days(sites, by_site, at)


def _days(sites, by_site, at):
    lately = Restore.objects.filter(received_at__gt=at - BEGAN_WITHIN).order_by("received_at")
    restores = {restore.site_id: restore for restore in lately}
    choices = ReminderChoice.objects.in_bulk()
    found = {}
    for site in sites:
        try:
            here = _site_day(site, by_site[site.pk], restores.get(site.pk), at)
            found[site.pk] = replace(here, choices=choices)
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


def tells(membership, stage):
    """Whether one with that role is told of a stage, whatever they chose."""
    is_above = membership.is_above and stage in TOLD_ABOVE
    return is_above or membership.role in ROLES_TOLD[stage]


def may_do_without(role, stage):
    """Whether somebody of a role may choose not to be mailed of a stage."""
    return stage not in NEVER_WITHOUT.get(role, ())


def quiet_people(days, people, at):
    """Return which of some people are not to be mailed at once now."""
    everyone = ((here, row) for here in days.values() for row in here.everyone)
    rows = {row.person_id: (here, row) for here, row in everyone if row.person_id in people}
    return [pk for pk, (here, row) in rows.items() if here.is_quiet(row.person, at)]


def rechecks_at(site):
    """Active rechecks of carts that may be reminded of: not tagged, laid up or left."""
    # by its cart's site too, else the carts of all sites are gone through
    awake = Recheck.objects.active().filter(site=site, cart__site=site, cart__is_tagged=False)
    return awake.exclude(cart__condition__in=AT_REST)
