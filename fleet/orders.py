"""Who ordered a recheck, and why. No writes."""

from django.utils.translation import gettext as _

from fleet.history import ORDERED
from fleet.models import RecheckOrder


def orders_said(works):
    """Return {order id: who ordered it and why} of the ordered ones among some work.

    One query, and none where nothing was ordered.
    """
    ids = {work.anchor_id for work in works if work.rule_code == ORDERED}
    if not ids:
        return {}
    orders = RecheckOrder.objects.filter(pk__in=ids).select_related("by")
    return {order.pk: _said(order) for order in orders}


def _said(order):
    return _("ordered by %(by)s: %(why)s") % {"by": order.by, "why": order.reason}
