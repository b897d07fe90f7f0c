"""Turns of before that moved a value against what the figures say, in words."""

from django.utils.translation import gettext_lazy as _

from alignment.counting import TOE
from alignment.learning import OF_CART, OF_KIT, OtherWay

TOE_SAID = {
    OF_CART: _(
        "%(count)s turns on this cart moved toe the other way than these figures say: "
        "is the arm ahead of or behind the axle?"
    ),
    OF_KIT: _(
        "%(count)s turns on carts with this kit moved toe the other way than these figures say: "
        "is the arm ahead of or behind the axle?"
    ),
}
CAMBER_SAID = {
    OF_CART: _(
        "%(count)s turns on this cart moved camber the other way than these figures say: "
        "which way is the thread?"
    ),
    OF_KIT: _(
        "%(count)s turns on carts with this kit moved camber the other way than these figures "
        "say: which way is the thread?"
    ),
}


def other_way_said(against: OtherWay, name: str) -> str:
    """Return the question that turns of a value raise which moved the other way."""
    said = TOE_SAID if name == TOE else CAMBER_SAID
    return said[against.source] % {"count": against.count}
