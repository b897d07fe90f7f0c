"""What the desk reads of a site's carts: GO or NO, why, and a plain cart in its place."""

from typing import NamedTuple

from django.db.models import BooleanField, ExpressionWrapper, Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from fleet import desk_answer
from fleet.due import LATE, STOPPED
from fleet.missing import missing_words
from fleet.models import Cart, Recheck
from shared.dates import shown_day

# what the answers on a site's carts rest on, and how a cart is named and replaced
COLUMNS = (
    "number",
    "site_id",
    "seats",
    "power",
    "use_class",
    "condition",
    "is_lifted",
    "is_unproven",
    "is_tagged",
    "missing",
    "unrecorded_before",
)


class Said(NamedTuple):
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
    active = Recheck.objects.active().filter(site=site)
    late = active.filter(Q(stops_on=None) | Q(stops_on__gt=today), late_on__lte=today)
    return (
        Cart.objects.visible_to(viewer)
        .filter(site=site)
        .annotate(is_stopped=_is_among(active.filter(stops_on__lte=today)))
        .annotate(is_late=_is_among(late))
        .order_by("number", "id")
    )


def _is_among(rechecks):
    """Say whether a cart has one of these: found once a statement, not once a cart."""
    among = Q(pk__in=rechecks.order_by().values("cart"))
    return ExpressionWrapper(among, output_field=BooleanField())


class Teller:
    """Says the answers on the carts of a site; those that are alike are worded once."""

    def __init__(self, site):
        self.site, self.told = site, {}

    def said_of(self, cart):
        """Return the answer on a cart that carts_for_desk returned."""
        alike = (
            cart.condition,
            cart.use_class,
            cart.is_tagged,
            cart.is_unproven,
            cart.is_stopped,
            cart.is_late,
            cart.unrecorded_before,
            *cart.missing,
        )
        said = self.told.get(alike)
        if said is None:
            said = self.told[alike] = said_of(cart, self.site)
        return said._replace(cart=cart)


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


WORDS = {
    desk_answer.LEFT: gettext_lazy("left the fleet"),
    desk_answer.TAGGED: gettext_lazy("the shop has a tag on it"),
    desk_answer.STOPPED: gettext_lazy("stopped: a recheck is past its stop limit"),
    desk_answer.LAID_UP: gettext_lazy("laid up"),
    desk_answer.UNPROVEN: gettext_lazy("its lift is unproven: not for hire"),
    desk_answer.LATE: gettext_lazy("late: last hires only, then to the shop"),
}


def _words(code, cart, site):
    if code == desk_answer.ON_STANDS:
        return _on_stands(cart)
    if code == desk_answer.UNRECORDED:
        before = shown_day(cart.unrecorded_before, site.date_order)
        return _("history before %(day)s not recorded") % {"day": before}
    return str(WORDS[code])


def _on_stands(cart):
    missing = ", ".join(missing_words(cart.missing))
    if not missing:
        return _("on stands in the shop")
    return _("on stands in the shop, not recorded: %(missing)s") % {"missing": missing}


class Line(NamedTuple):
    """One line of the morning list: the answer, and a plain cart where it is NO."""

    said: Said
    instead: Cart | None = None

    @property
    def about(self):
        """How many it seats, why it stays or what goes with it, and which cart may go."""
        seats, why, instead = self.said.cart.seats, self.said.why, ""
        if self.instead:
            instead = _("instead: cart %(number)s") % {"number": self.instead.number}
        seated = ngettext("%(n)s seat", "%(n)s seats", seats) % {"n": seats} if seats else ""
        return " · ".join(words for words in (seated, why, instead) if words)


def morning_list(viewer, site, today, reports=()):
    """Return a line for each cart of the fleet, with one query; ``reports`` nobody answered."""
    carts = carts_for_desk(viewer, site, today).in_fleet().only(*COLUMNS)
    teller = Teller(site)
    return in_lines([teller.said_of(cart) for cart in carts], reports)


def in_lines(said, reports=()):
    """Return a line for each answer; where it is NO, with the first plain cart alike.

    None of which something was reported takes another's place, and none whose seats are not known.
    """
    plain, reported = {}, {report.cart_id for report in reports}
    for one in reversed(said):
        is_well = one.goes and not one.answer.notes and one.cart.pk not in reported
        if is_well and one.cart.seats and not one.cart.is_lifted:
            plain[_like(one.cart)] = one.cart
    return [Line(one, None if one.goes else plain.get(_like(one.cart))) for one in said]


def _like(cart):
    return cart.seats, cart.power, cart.use_class
