"""Meters that rose while a cart was to stand: under a tag, and in a lay-up."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cart_tables import km
from fleet.bundle.cells import done_at, moment
from fleet.bundle.columns import DAY, MOMENT, YES_NO, Column, number
from fleet.bundle.shapes import ANY_CART, fact_table, said
from fleet.moving_at_rest import lay_ups_in, moved_while_tagged

METERS = (
    Column("read_before_at", _("last reading before, else the first within"), MOMENT),
    Column("read_after_at", _("last reading that is counted"), MOMENT),
    number("hours_before", _("hours in the cart's life at the first of the two"), "h"),
    number("hours_after", _("hours in its life at the last"), "h"),
    number("more_hours", _("hours run between the two"), "h"),
    number("km_before", _("true distance in the cart's life at the first"), "km"),
    number("km_after", _("true distance in its life at the last"), "km"),
    number("more_km", _("true distance run between the two"), "km"),
)


def _ran(ran, zone):
    points = sorted((*ran.hours, *ran.metres), key=lambda point: point.at)
    hours, metres = _ends(ran.hours), _ends(ran.metres)
    return {
        "read_before_at": moment(points[0].at, zone) if points else "",
        "read_after_at": moment(points[-1].at, zone) if points else "",
        "hours_before": hours[0],
        "hours_after": hours[1],
        "more_hours": hours[2],
        "km_before": km(metres[0]),
        "km_after": km(metres[1]),
        "more_km": km(metres[2]),
    }


def _ends(points):
    """Return the life at the first and the last point, and the rise between them."""
    if not points:
        return None, None, None
    first, last = points[0].life, points[-1].life
    return first, last, last - first


def told_tagged(batch):
    scope = batch.scope
    for cart, (tag, back, ran, readings) in moved_while_tagged(batch):
        by = (scope.name(cart.facts.first_of(one).by_id) for one in readings)
        yield (
            cart,
            tag,
            {
                **_ran(ran, scope.zone),
                "read_by": "; ".join(dict.fromkeys(by)),
                "handed_back_at": done_at(back, scope.zone) if back else "",
                "drive_noted": bool(back.drive_note.strip()) if back else None,
                "drive_note": back.drive_note if back else "",
            },
        )


TAGGED_MOVING = fact_table(
    "tagged_moving.csv",
    _("tagged carts whose meter rose between the tag and the hand-back"),
    said("tag", _("the tag; see tags.csv"), field="id"),
    (
        said("reason", _("what was wrong")),
        *METERS,
        Column("read_by", _("who recorded the readings between tag and hand-back")),
        Column("handed_back_at", _("returned to use; empty: tagged still"), MOMENT),
        Column("drive_noted", _("the hand-back notes a drive; empty: tagged still"), YES_NO),
        Column("drive_note", _("what it says of the drive after the repair")),
    ),
    told_tagged,
)


def told_lay_ups(batch):
    scope = batch.scope
    for cart, (rest, ran, is_void) in lay_ups_in(batch):
        yield (
            cart,
            rest.laid_up,
            {
                "told_at": moment(cart.facts.arrived_at(rest.laid_up), scope.zone),
                "counts_from": rest.lay_up.from_day,
                "until_at": done_at(rest.woken, scope.zone) if rest.woken else "",
                **_ran(ran, scope.zone),
                "void": is_void,
            },
        )


LAY_UPS = fact_table(
    "lay_ups.csv",
    _("each lay-up, and what the meters ran in it"),
    said("lay_up", _("the entry of laying up; done_at is from when"), field="id"),
    (
        Column("told_at", _("when it was first told of"), MOMENT),
        Column("counts_from", _("first day at rest; told too late, the day it was told"), DAY),
        Column("until_at", _("woken; empty: laid up still"), MOMENT),
        *METERS,
        Column("void", _("more was run than the rule book allows: it held nothing back"), YES_NO),
        said("reason", _("why")),
    ),
    told_lay_ups,
    cart=ANY_CART,
)
