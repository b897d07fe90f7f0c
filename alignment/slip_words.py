"""What is out of order on a sheet, and what does not fit together, in words."""

from django.utils.translation import gettext_lazy as _

from alignment import contradictions, order, words
from alignment.models import Side

SLIPS = {
    order.TOE_BEFORE_CAMBER: _("Camber first: read the %(side)s wheel’s camber before toe."),
    order.TWO_STEPS: _("One step a pass: turn one thing or drive, then read again."),
    order.NOT_ADJUSTABLE: _(
        "Camber was said not to be adjustable: then no sleeve is turned. "
        "Say otherwise under “Before measuring”."
    ),
    order.CAMBER_AGAIN: _(
        "The %(side)s sleeve was turned in pass %(n)s: read this wheel’s camber again."
    ),
    order.TOE_AFTER_SLEEVE: _(
        "A camber sleeve was turned in pass %(n)s, so toe read before is void: read toe again."
    ),
    order.ROD_WITHOUT_CAMBER: _(
        "Camber first, then toe: the %(side)s wheel has no camber reading that counts. "
        "Read it before the tie rods are turned."
    ),
    order.ROD_BEFORE_CAMBER: _(
        "Camber first, then toe: camber is outside. Turn the camber sleeve before the tie rods, "
        "or say under “Before measuring” that camber is not adjustable."
    ),
    order.TOE_AFTER_ROD: _("The tie rods were turned in pass %(n)s: read toe again after it."),
    order.CAMBER_AFTER_DRIVE: _("Driven in pass %(n)s: read the %(side)s wheel’s camber again."),
    order.TOE_AFTER_DRIVE: _("Driven in pass %(n)s: read toe again."),
    order.NOTHING_DONE: _("Pass %(n)s holds nothing: read again, or take this step back."),
}
CONTRADICTIONS = {
    contradictions.SCATTER: _(
        "Pass %(n)s, %(name)s: the readings scatter more than the mark explains: %(figures)s. "
        "Read again."
    ),
    contradictions.BENT_RIM: _(
        "Pass %(n)s, %(name)s: %(figures)s before and after half a turn of the wheel. "
        "The rim is bent; the mean of both counts."
    ),
    contradictions.FLOOR: _(
        "Pass %(n)s: left plus right is %(figures)s before and after the floor was allowed for, "
        "and ought to stay. Read both wheels in one way."
    ),
    contradictions.WRONG_WAY: _(
        "Pass %(n)s, %(name)s: the turn should have changed it by %(expected)s, and it changed "
        "by %(change)s: the other way. Look at which way it was turned, and at the sign."
    ),
    contradictions.DID_NOT_MOVE: _(
        "Pass %(n)s, %(name)s: the turn should have changed it by %(expected)s, and it hardly "
        "moved (%(change)s). Look for a jam nut still tight or a stripped thread."
    ),
}


def slip(one):
    """Return a slip of the order as what to do about it."""
    side = Side(one.side).label if one.side else ""
    return str(SLIPS[one.code]) % {"n": one.pass_no, "side": side}


def contradiction(one):
    each = [words.figure(one.name, figure) for figure in one.figures]
    said = {"n": one.pass_no, "name": words.NAMES[one.name], "figures": ", ".join(each)}
    changes = {"expected": each[0], "change": each[1 % len(each)]}
    return str(CONTRADICTIONS[one.kind]) % {**said, **changes}
