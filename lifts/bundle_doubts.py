"""The bundle's table of looks whose wrench was found out, and what became of their joints."""

from collections import defaultdict
from decimal import Decimal

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import done_at, moment
from fleet.bundle.columns import CART, MOMENT, YES_NO, Column, Table, number
from fleet.bundle.exception_tables import is_in_fleet
from fleet.bundle.figure import Figure
from fleet.bundle.shapes import read_off
from fleet.models import Recheck
from lifts.found_out import looks_found_out_at
from lifts.found_since import recheck_id, spoilt_looks
from lifts.models import JointPart, WrenchCertificate, WrenchCheck

OPEN, ORDERED = "open", "recheck ordered"
AGAIN, CLOSED = "looked at again", "recheck closed"
INSIDE, LIFT_OFF, GONE = "inside", "lift off", "cart gone"
STILL_OPEN = (OPEN, ORDERED)
TENTH = Decimal("0.1")
PLACES = Decimal("0.01")
BY_CERTIFICATE, BY_CHECK = "certificate", "quick check"


def doubt_rows(batch):
    """Yield each look that was done with a wrench later doubted, cart by cart, by time."""
    carts = {cart.id: cart for cart in batch.carts}
    found = looks_found_out_at(list(carts), batch.scope.cut) if JointPart in batch.told else ()
    found = [one for one in found if one.is_told]
    told = defaultdict(list)
    for one, again in _with_later_looks(found, batch.scope):
        cart = carts[one.look.fact.cart_id]
        if _is_told(cart, one):
            told[cart.id].append(_row(cart, one, again))
    for cart in batch.carts:
        yield from told[cart.id]


def _with_later_looks(found, scope):
    """Yield (look in doubt, the later look with a good wrench at its joint, if any)."""
    later = {}
    for spoilt in spoilt_looks(scope.site, found, scope.cut) if found else ():
        later[spoilt.found.finding.id, spoilt.found.look.pk] = spoilt.again
    for one in found:
        yield one, later.get((one.finding.id, one.look.pk))


def _is_told(cart, one):
    """Say whether a doubt is in scope: by its look, or since its wrench was found out later."""
    if not cart.of_site([one.look.fact]):
        return False
    since, fact = cart.scope.since, one.finding.fact
    is_new = since is None or max(fact.done_at, fact.received_at) >= since
    return is_new or bool(cart.own([one.look.fact]))


def _row(cart, one, again):
    scope, look, finding = cart.scope, one.look, one.finding
    order, closed_at = _recheck(cart, one)
    return {
        **cart.named(look.fact.done_at),
        "finding": finding.id,
        "wrench": finding.wrench.pk,
        "wrench_name": finding.wrench.name,
        "found_out_by": _how(finding.fact),
        "found_out_at": done_at(finding.fact, scope.zone),
        "doubted_after": moment(finding.after, scope.zone),
        "doubted_until": moment(finding.until, scope.zone),
        "measured_by": finding.measured_by and finding.measured_by.pk,
        "joints": look.fact_id,
        "round": look.fact.round_id,
        "looked_at": done_at(look.fact, scope.zone),
        "joint": look.name,
        **read_off(look, OF_LOOK),
        **_got(one),
        "again_at": done_at(again.fact, scope.zone) if again else "",
        "again_joints": again and again.fact_id,
        "order": order and order.pk,
        "closed_at": moment(closed_at, scope.zone),
        "standing": _standing(cart, one, again, order, closed_at),
    }


def _how(fact):
    if isinstance(fact, WrenchCertificate):
        return BY_CERTIFICATE
    return BY_CHECK if isinstance(fact, WrenchCheck) else fact.what


def _got(one):
    got = one.got
    return {
        "error_percent": got and Decimal(str(100 * got.error)).quantize(TENTH),
        "delivered_nm": got and Decimal(str(got.nm)).quantize(PLACES),
        "low_nm": got and Decimal(str(got.low_nm)).quantize(PLACES),
        "high_nm": got and Decimal(str(got.high_nm)).quantize(PLACES),
        "verdict": one.verdict,
        "past_proof": one.past_proof is not None,
    }


def _recheck(cart, one):
    """Return the recheck ordered for this, and when it was closed, both within the cut."""
    wanted = recheck_id(one.finding.id, cart.id, one.look.name)
    order = next((order for order in cart.facts.orders if order.pk == wanted), None)
    ended = [row.ended_at for row in cart.rechecks if _is_closed(row, wanted)] if order else []
    return order, min(ended, default=None)


def _is_closed(row, order_id):
    return row.anchor_id == order_id and row.ended == Recheck.Ended.CLOSED


def _standing(cart, one, again, order, closed_at):
    if not one.is_listed:
        return INSIDE
    if closed_at:
        return CLOSED
    # a look with a good wrench says nothing of a bolt that got too much
    if again and not (one.got and one.got.is_over):
        return AGAIN
    if not is_in_fleet(cart):
        return GONE
    if not _is_lift_on(cart, one.look.fact.done_at):
        return LIFT_OFF
    return ORDERED if order else OPEN


def _is_lift_on(cart, at):
    """Say whether the lift that was on the cart then is on it still."""
    lifts = [one for one in cart.facts.chapters if one.earliest(cart.scope.site.zone) <= at]
    return bool(lifts) and max(lifts, key=lambda one: one.from_at).until_at is None


OF_LOOK = (
    Column("is_critical", _("could cost a wheel, the steering or the brakes"), YES_NO),
    number("target_nm", _("torque that was meant"), "N.m"),
)
DOUBTS = Table(
    "wrench_doubts.csv",
    _("computed: the looks with a wrench later doubted, which stay as recorded, and what followed"),
    (
        *CART,
        Column("finding", _("by what the wrench was found out: that entry")),
        Column("wrench", _("the wrench; see wrenches.csv")),
        Column("wrench_name", _("its name on the rack")),
        Column("found_out_by", _("certificate, quick check, dropped or abused")),
        Column("found_out_at", _("when it was found out"), MOMENT),
        Column("doubted_after", _("last known to be good before that; empty: never"), MOMENT),
        Column("doubted_until", _("the last moment that is in doubt"), MOMENT),
        Column("measured_by", _("certificate that later measured the error of a dropped one")),
        Column("joints", _("the joints part of the round; see joint_looks.csv")),
        Column("round", _("the round; see rounds.csv")),
        Column("looked_at", _("when the joint was looked at"), MOMENT),
        Column("joint", _("the joint")),
        *OF_LOOK,
        number("error_percent", _("error of the wrench there; empty: nobody knows it"), "%"),
        number("delivered_nm", _("torque that the nut got by that error"), "N.m"),
        number("low_nm", _("lowest torque that the joint allows"), "N.m"),
        number("high_nm", _("highest torque that it allows"), "N.m"),
        Column("verdict", _("inside or outside what the joint allows, or not known")),
        Column("past_proof", _("pulled past the proof load of its thread and grade"), YES_NO),
        Column("again_at", _("looked at again with a good wrench; empty: not"), MOMENT),
        Column("again_joints", _("the joints part of that look")),
        Column("order", _("the recheck ordered for it; empty: none")),
        Column("closed_at", _("when that recheck was closed"), MOMENT),
        Column(
            "standing",
            _(
                "open; recheck ordered; looked at again; recheck closed; lift off; cart gone; "
                "inside: nothing is to be looked at"
            ),
        ),
    ),
    lambda batch: batch.once(doubt_rows),
    key=("finding", "joints", "joint"),
)


class DoubtCount:
    """Counts the looks in doubt, and the joints that nothing since speaks for."""

    def __init__(self, scope):
        self.looks, self.open = 0, set()

    def take(self, batch):
        for row in batch.once(doubt_rows):
            self.looks += 1
            if row["standing"] in STILL_OPEN:
                self.open.add((row["cart_id"], row["joint"]))

    def figures(self, lines):
        for code, title, value, unit, definition in (
            ("wrench_doubts", _("looks with a wrench later doubted"), self.looks, LOOKS, ALL),
            ("wrench_doubts_open", _("joints in doubt still"), len(self.open), JOINTS, UNDONE),
        ):
            yield Figure(code, title, value, unit, definition, DOUBTS.name)


LOOKS, JOINTS = _("looks"), _("joints")
ALL = _("looks in doubt by a wrench that was found out; the records keep them as they were")
UNDONE = _(
    "joints outside what they allow, or of which nobody knows, that no good wrench has been put "
    "to since and no recheck has closed"
)
