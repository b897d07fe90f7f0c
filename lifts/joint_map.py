"""The joint map of a cart or a kit: each joint numbered in walking order, drawn and told."""

from collections import Counter
from dataclasses import dataclass

from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.board import STATE_WORDS
from fleet.kinds import Cut
from fleet.visits import called_at
from fleet.why_now import what
from lifts import joint_drawing, pieces
from lifts.joint_card import figure, thread_words
from lifts.joint_drawing import BLANK, NEVER, Mark
from lifts.joint_places import place_of
from lifts.looks import last_looks
from lifts.models import Joint, Look
from lifts.visit_kit import joints_on
from shared.dates import shown_day

MANY = 28  # joints from which on the print is set smaller


@dataclass(frozen=True)
class Mapped:
    """A joint on the map: its number, its state as shape and word, and what is told of it."""

    number: int
    joint: Joint
    found: str
    words: str
    lines: list[str]

    @property
    def mark(self):
        return Mark(self.number, self.found, self._place)

    @property
    def shape(self):
        return mark_safe(joint_drawing.key_drawing(self.found))

    @property
    def _place(self):
        return place_of(self.joint.family, self.joint.wheel, self.joint.name)


def map_of_cart(cart, cut: Cut) -> list[Mapped]:
    """Return the joints of a cart in walking order with their last looks, in few queries."""
    looks = last_looks(cart, cut)
    called = called_at(cart, cut.asked_at)
    return [
        _of_cart(number, joint, looks.get(joint.name), called, cart.site)
        for number, joint in enumerate(joints_on(cart, cut), start=1)
    ]


def _of_cart(number, joint, look, called, site):
    found = look.found if look else NEVER
    lines = [_seen_on(look, site), _open_for(joint, called)]
    if joint.cart_id:
        lines.append(_("beside the kit’s list"))
    return Mapped(number, joint, found, _word(found), [line for line in lines if line])


def _seen_on(look, site):
    if look is None:
        return ""
    day = shown_day(site.day(look.fact.done_at), site.date_order)
    return f"{day}, {look.wrench.name}" if look.wrench else day


def _open_for(joint, called):
    """Say the soonest recheck that asks for the joint and may be done today, and how many more."""
    asked = pieces.of_look(joint)
    found = [one for one in called if one.content & asked]
    if not found:
        return _("no recheck open")
    soonest = f"{what(found[0].recheck)}: {STATE_WORDS[found[0].state]}"
    if len(found) == 1:
        return soonest
    return _("%(soonest)s, and %(more)s more") % {"soonest": soonest, "more": len(found) - 1}


def map_of_kit(kit) -> list[Mapped]:
    """Return the joints of a kit's list, without a state, with what they are tightened to."""
    units = kit.site.units
    return [
        Mapped(number, joint, BLANK, "", [_bolt(joint), _aim(joint, units)])
        for number, joint in enumerate(kit.joints.on_sheet().order_by("place"), start=1)
    ]


def _bolt(joint):
    return thread_words(joint)


def _aim(joint, units):
    return _("by look, no torque") if joint.is_by_look else figure(joint, units)


def _word(found):
    return _("never looked at") if found == NEVER else str(Look.Found(found).label)


def key() -> list[tuple[str, str]]:
    """Return each shape with its word."""
    states = [*Look.Found.values, NEVER]
    return [(mark_safe(joint_drawing.key_drawing(one)), _word(one)) for one in states]


def drawn(joints: list[Mapped], title: str) -> str:
    """Return the drawing as SVG for a page; the list beside it says the same in words."""
    words = joint_drawing.Words(
        title=title,
        told=_told(joints),
        left=_("cart’s left"),
        right=_("cart’s right"),
        front=_("front"),
        rear=_("rear"),
        strip=_("Not placed on the drawing:"),
    )
    return mark_safe(joint_drawing.drawing([one.mark for one in joints], words))


def _told(joints):
    count = len(joints)
    numbered = ngettext(
        "%s joint, numbered as in the list.", "%s joints, numbered as in the list.", count
    )
    counts = Counter(one.words for one in joints if one.words)
    return " ".join([numbered % count, *(f"{words}: {n}." for words, n in counts.items())])
