"""What the desk reads of a site's carts: GO or NO, why, and a plain cart in its place."""

from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q
from django.utils.translation import gettext as _

from fleet import desk_answer
from fleet.due import LATE, STOPPED
from fleet.missing import missing_words
from fleet.models import Cart, Recheck
from shared.dates import shown_day


@dataclass(frozen=True)
class Said:
    """The desk's answer on a cart in words; ``style`` is how it is drawn."""

    cart: Cart
    answer: desk_answer.Answer
    word: str
    why: str
    style: str

    @property
    def goes(self):
        return self.answer.goes


def carts_for_desk(viewer, site, today):
    """Return the site's carts, each with whether a recheck is stopped or late today."""
    active = Recheck.objects.active().filter(cart=OuterRef("pk"))
    late = active.filter(Q(late_on__lte=today))
    return (
        Cart.objects.visible_to(viewer)
        .filter(site=site)
        .annotate(
            is_stopped=Exists(active.filter(stops_on__lte=today)),
            is_late=Exists(late.filter(Q(stops_on=None) | Q(stops_on__gt=today))),
        )
        .order_by("number", "id")
    )


def said_of(cart, site):
    """Return the answer on a cart that carts_for_desk returned."""
    flags = ((STOPPED, cart.is_stopped), (LATE, cart.is_late))
    return said_in(cart, [state for state, is_so in flags if is_so], site)


def said_in(cart, states, site):
    """Return the answer on a cart of which active rechecks are in these states."""
    found = desk_answer.answer(
        condition=cart.condition,
        use_class=cart.use_class,
        is_tagged=cart.is_tagged,
        is_unproven=cart.is_unproven,
        states=states,
        unrecorded_before=cart.unrecorded_before,
    )
    words = [_words(code, cart, site) for code in found.reasons or found.notes]
    style = "no" if not found.goes else "note" if found.notes else "go"
    return Said(cart, found, _("GO") if found.goes else _("NO"), "; ".join(words), style)


def _words(code, cart, site):
    before = cart.unrecorded_before and shown_day(cart.unrecorded_before, site.date_order)
    return {
        desk_answer.LEFT: _("left the fleet"),
        desk_answer.TAGGED: _("the shop has a tag on it"),
        desk_answer.STOPPED: _("stopped: a recheck is past its stop limit"),
        desk_answer.ON_STANDS: _on_stands(cart),
        desk_answer.LAID_UP: _("laid up"),
        desk_answer.UNPROVEN: _("its lift is unproven: not for hire"),
        desk_answer.LATE: _("late: last hires only, then to the shop"),
        desk_answer.UNRECORDED: _("history before %(day)s not recorded") % {"day": before},
    }[code]


def _on_stands(cart):
    missing = ", ".join(missing_words(cart.missing))
    if not missing:
        return _("on stands in the shop")
    return _("on stands in the shop, not recorded: %(missing)s") % {"missing": missing}


@dataclass(frozen=True)
class Line:
    """One line of the morning list: the answer, and a plain cart where it is NO."""

    said: Said
    instead: Cart | None = None


def morning_list(viewer, site, today):
    """Return a line for each cart of the fleet, with one query."""
    carts = carts_for_desk(viewer, site, today).in_fleet()
    return in_lines([said_of(cart, site) for cart in carts])


def in_lines(said):
    """Return a line for each answer; where it is NO, with the first plain cart alike."""
    plain = {}
    for one in reversed(said):
        if one.goes and not one.answer.notes and not one.cart.is_lifted:
            plain[_like(one.cart)] = one.cart
    return [Line(one, None if one.goes else plain.get(_like(one.cart))) for one in said]


def _like(cart):
    return cart.seats, cart.power, cart.use_class
