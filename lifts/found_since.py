"""What became of joints whose looks a wrench spoilt, and whether a recheck can be made of them.

A constant number of queries, however many looks there are.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid5

from django.db.models import Q
from django.utils.translation import gettext as _

from fleet.models import Cart, Recheck, RecheckOrder
from lifts.found_out import FoundLook, looks_found_out_at
from lifts.models import Joint, Kit, Look, WrenchState
from lifts.racks import turned_looks
from lifts.source import LiftSource
from shared.dates import shown_day


def recheck_id(finding_id, cart_id, joint) -> UUID:
    """Return the id of the one recheck that a finding calls for at a joint of a cart."""
    return uuid5(finding_id, f"recheck|{cart_id}|{joint}")


@dataclass(frozen=True)
class Spoilt:
    """A look that is listed, and what became of its joint since.

    ``again`` is the first later look at it with a good wrench; ``obstacle`` says why no
    recheck can be made. ``is_last`` marks the last listed look at its joint, which stands
    for the others; ``is_preset`` says that nothing since speaks for the joint.
    """

    found: FoundLook
    again: Look | None
    order: RecheckOrder | None
    closed_at: datetime | None
    obstacle: str
    is_last: bool
    is_preset: bool

    @property
    def may_order(self) -> bool:
        return self.is_last and not self.obstacle and self.order is None


def spoilt_looks(site, found, cut) -> list[Spoilt]:
    """Return each listed look of a finding, by the cart's number, the latest look first.

    A look again with a good wrench speaks for a joint that may have got too little; of one
    that got too much it tells nothing.
    """
    listed = sorted((one for one in found if one.is_listed), key=_place)
    since = _Since(site, listed, cut)
    by_joint = defaultdict(list)
    for one in listed:
        by_joint[_joint(one.look)].append((one, since.again(one)))
    return [
        Spoilt(
            one,
            since.again(one),
            since.order_of(one),
            since.closed_at(one),
            since.obstacle(one),
            is_last=of_joint[0][0] is one,
            is_preset=any(_is_wanting(*pair) for pair in of_joint),
        )
        for one in listed
        for of_joint in [by_joint[_joint(one.look)]]
    ]


def _place(one):
    fact = one.look.fact
    return (fact.cart.number, fact.cart_id, -fact.done_at.timestamp(), one.look.place)


def _joint(look):
    return (look.fact.cart_id, look.name)


def _is_wanting(one, again):
    return again is None or (one.got is not None and one.got.is_over)


class _Since:
    """What is known now of the carts and joints of some looks."""

    def __init__(self, site, found, cut):
        self.site = site
        self.carts = {one.look.fact.cart_id for one in found}
        self.lifts = defaultdict(list)
        for lift in LiftSource().chapters(self.carts, cut):
            self.lifts[lift.cart_id].append(lift)
        self.present = self._present(cut)
        self.later = self._later(found, cut)
        ids = {self._id(one): one for one in found}
        orders = RecheckOrder.objects.filter(pk__in=ids)
        self.orders = orders.standing(cut.known_by).in_bulk()
        self.struck = set(orders.values_list("pk", flat=True)) - set(self.orders)
        closed = Recheck.objects.filter(anchor_id__in=self.orders, ended=Recheck.Ended.CLOSED)
        self.closed = dict(closed.values_list("anchor_id", "ended_at"))

    def _id(self, one):
        return recheck_id(one.finding.id, *_joint(one.look))

    def _present(self, cut):
        """Return (kit code, cart or None, joint) of each joint that is gone round now."""
        kits = Kit.objects.in_force(cut.happened_by).filter(site=self.site)
        sheets = Joint.objects.filter(cart=None, kit__in=kits.plain())
        self.plain = set(sheets.values_list("name", flat=True))
        joints = Joint.objects.filter(Q(cart=None) | Q(cart__in=self.carts), kit__in=kits)
        return set(joints.filter(until_at=None).values_list("kit__code", "cart", "name"))

    def _later(self, found, cut):
        """Return {(cart, joint): looks with a good wrench that left it right}, by time."""
        looks = turned_looks(cut).filter(fact__cart__in=self.carts, right_after=True)
        looks = looks.filter(wrench_state=WrenchState.GOOD, name__in={o.look.name for o in found})
        doubted = {one.look.pk for one in looks_found_out_at(self.carts, cut) if one.is_listed}
        later = defaultdict(list)
        for look in looks.select_related("fact", "wrench").order_by("fact__done_at", "pk"):
            if look.pk not in doubted:
                later[_joint(look)].append(look)
        return later

    def again(self, one):
        """Return the first good look after one, at the same lift."""
        lift, done_at = self._lift(one.look), one.look.fact.done_at
        ends = lift.until_at if lift else None
        for look in self.later[_joint(one.look)]:
            at = look.fact.done_at
            if done_at < at and (ends is None or at < ends):
                return look
        return None

    def order_of(self, one):
        return self.orders.get(self._id(one))

    def closed_at(self, one):
        return self.closed.get(self._id(one))

    def _lift(self, look):
        """Return the lift that was on the cart at a look; None for a plain cart."""
        done_at, zone = look.fact.done_at, self.site.zone
        lifts = [
            one
            for one in self.lifts[look.fact.cart_id]
            if one.earliest(zone) <= done_at and not one.is_off_at(done_at)
        ]
        return max(lifts, key=lambda lift: lift.from_at, default=None)

    def obstacle(self, one):
        look = one.look
        cart, lift = look.fact.cart, self._lift(look)
        if cart.site_id != self.site.pk:
            return _("the cart is at another site now")
        if cart.condition == Cart.Condition.LEFT:
            return _("the cart has left the fleet")
        if lift is None and cart.is_lifted:
            return _("a lift was fitted since")
        if lift and lift.until_at:
            day = shown_day(self.site.day(lift.until_at), self.site.date_order)
            return _("its lift was taken off on %(day)s") % {"day": day}
        if self._id(one) in self.struck:
            return _("its recheck was taken back")
        return self._not_listed(look, lift)

    def _not_listed(self, look, lift):
        if lift is None:
            said = _("no sheet for plain carts lists such a joint any more")
            return "" if look.name in self.plain else said
        code, cart_id = lift.kit_code, look.fact.cart_id
        here = {(code, None, look.name), (code, cart_id, look.name)}
        return "" if here & self.present else _("its kit lists no such joint any more")
