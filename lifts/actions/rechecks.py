"""Rechecks that a manager orders for many carts at once, in one transaction."""

from datetime import timedelta
from uuid import uuid5

from django.db import transaction

from fleet.actions import project
from fleet.models import RecheckOrder
from lifts.found_since import recheck_id
from shared.facts import lock_sites, record_all

JOINT_LOOK = "joint-look"
# by criticality, and a critical one stops its cart when it is late; judgement, no source
DUE_DAYS = {True: 1, False: 7}


@transaction.atomic
def order_joint_looks(finding, looks, *, reason, by, at):
    """Order a look at each of these joints for a wrench found out; return the new orders.

    ``looks`` are Looks, one a joint. What this finding has called for already, by this
    press or an earlier one, is left as it is.
    """
    site = finding.wrench.site
    lock_sites(site.pk)
    wanted = {recheck_id(finding.id, look.fact.cart_id, look.name): look for look in looks}
    known = set(RecheckOrder.objects.filter(pk__in=wanted).values_list("pk", flat=True))
    orders = [
        _order(site, look.fact.cart_id, look.is_critical, site.day(at), id=pk, **_of(look))
        for pk, look in wanted.items()
        if pk not in known
    ]
    for order in orders:
        order.reason, order.by = reason, by
    return _recorded(orders, at)


def _of(look):
    return {"kind_code": JOINT_LOOK, "subject": look.name}


def _order(site, cart_id, is_critical, today, **values):
    due_on = today + timedelta(days=DUE_DAYS[is_critical])
    return RecheckOrder(site=site, cart_id=cart_id, due_on=due_on, stops=is_critical, **values)


@transaction.atomic
def order_for_carts(act, site, cart_ids, kind_code, due_on, *, reason, by, at, stops=False):
    """Order one kind of recheck for these carts of a site; return the new orders.

    ``act`` is the page's own id: sent twice it orders once. Raises OtherBody when it was
    sent before with other content.
    """
    lock_sites(site.pk)
    orders = [
        RecheckOrder(
            id=uuid5(act, str(cart_id)),
            site=site,
            cart_id=cart_id,
            kind_code=kind_code,
            due_on=due_on,
            stops=stops,
            reason=reason,
            by=by,
        )
        for cart_id in sorted(cart_ids)
    ]
    return _recorded(orders, at)


def _recorded(orders, at):
    filed = record_all([(order, ()) for order in orders], at=at)
    project.carts([order.cart_id for order in orders])
    return [one.fact for one in filed if one.first]
