"""What the page of sister carts shows of each: what it shares, its use, state and rechecks."""

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal

from django.urls import reverse
from django.utils.translation import gettext as _

from fleet.desk import carts_for_desk, said_of
from fleet.meters import points_of
from fleet.models import Cart, Recheck
from fleet.standing import facts_of
from shared.models import Role
from shared.units import shown

CARTS_A_PAGE = 50


@dataclass(frozen=True)
class SisterRow:
    """One sister cart in words; ``use`` is what it has run since its lift was fitted."""

    cart: Cart
    shares: list[str]
    use: str
    state: str
    rechecks: str


def leads(cart, viewer):
    """Yield the way to a lifted cart's sisters, for a manager of its site."""
    if cart.is_lifted and viewer.role_at(cart.site) == Role.MANAGER:
        yield _("Sister carts"), reverse("sister-list", args=[cart.site.slug, cart.pk])


def rows_of(sisters, pairs, viewer) -> list[SisterRow]:
    """Return a row for each (cart, what it shares); a constant number of queries."""
    site, day = sisters.site, sisters.site.day(sisters.cut.happened_by)
    ids = [cart.pk for cart, _shares in pairs]
    desk = carts_for_desk(viewer, site, day).select_related("site")
    carts = desk.in_bulk(ids)
    facts = facts_of(ids, sisters.cut)
    open_now = Recheck.objects.opening_by(day).filter(cart__in=ids)
    opened = Counter(open_now.values_list("cart", flat=True))
    late = Counter(open_now.filter(late_on__lte=day).values_list("cart", flat=True))
    return [
        SisterRow(
            carts[cart.pk],
            shares,
            _use(points_of(facts[cart.pk], {site.pk: site}), sisters.fittings[cart.pk], site),
            _state(carts[cart.pk], site),
            _rechecks(opened[cart.pk], late[cart.pk]),
        )
        for cart, shares in pairs
    ]


def _state(cart, site):
    said = said_of(cart, site)
    return f"{said.word}: {said.why}" if said.why else said.word


def _rechecks(opened, late):
    if not late:
        return _("%s open") % opened
    return _("%(open)s open, %(late)s of them late") % {"open": opened, "late": late}


def _use(points, fitting, site):
    """Say the hours and the distance run since a fitting, as far as its meters tell."""
    hours, metres = (_run_since(some, fitting.done_at) for some in points)
    said = [] if hours is None else [f"{hours:,.1f} h"]
    if metres is not None:
        said.append(shown(metres, "distance", site.units))
    if not said and any(points):
        return _("not known")
    return ", ".join(said) or _("no meter read")


def _run_since(points, at) -> Decimal | None:
    before = [point.life for point in points if point.at <= at]
    if not before and len(points) < 2:
        return None  # one reading after it tells of no use since
    return points[-1].life - (before[-1] if before else points[0].life)
