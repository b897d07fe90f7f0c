"""A manager lets a round count that was written more than a week after it was done."""

from uuid import uuid5

from django.db import transaction

from fleet.actions import project
from fleet.models import Countersign, WaitingRound
from shared.facts import lock_sites, record
from shared.models import Membership, Role


class NotManager(Exception):
    """Only a manager of the cart's site countersigns."""


class NotWaiting(Exception):
    """The round waits for no countersign: it has one, was taken back, or was never late."""


@transaction.atomic
def countersign_round(row, *, reason, by, at):
    """Let a late-written round close what it did, as of when it was done; say why.

    It holds for this telling alone: corrected or moved, the round waits for another. A
    strike of it lets the round wait again. The same countersign again is the same act.
    """
    site = row.cart.site
    lock_sites(site.pk)
    _refuse_others(site, by, at)
    signed = Countersign.objects.filter(about=row.pk).count()
    standing = Countersign.objects.standing().filter(about=row.pk)
    same = standing.filter(by=by, reason=reason).first()
    if same:
        return same
    if not WaitingRound.objects.filter(pk=row.pk).exists():
        raise NotWaiting(row)
    fact = Countersign(
        id=uuid5(row.pk, f"countersign {signed + 1}"),
        site_id=site.pk,
        cart_id=row.cart_id,
        about=row.pk,
        reason=reason,
        by=by,
        done_at=None,
    )
    record(fact, at=at)
    project.carts([row.cart_id])
    return fact


def _refuse_others(site, by, at):
    managers = Membership.objects.in_force(site.day(at)).filter(site=site, role=Role.MANAGER)
    if not managers.filter(person=by).exists():
        raise NotManager(by)
