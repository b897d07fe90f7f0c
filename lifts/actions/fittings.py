"""What happens to a lift on a cart: each act records its facts and re-projects the cart.

``id`` makes a second sending of the same act the first one again; ``done_at`` None is
the moment of arrival.
"""

from django.db import transaction

from fleet.actions import meters, project
from lifts.actions.fitting_tyres import (
    correct_tyres,
    has_other_tyres,
    tell_tyres_before,
    tyre_change,
)
from lifts.meters_at_fitting import reading_id
from lifts.models import Fitting, Removal, WheelOff
from shared.facts import correction_of, lock_sites, record, record_all
from shared.models import new_id


class NotOnCart(Exception):
    """The lift was removed, or another was put in its place, before."""


class WrongSite(Exception):
    """The kit belongs to another site than the cart."""


class LiftsNothing(Exception):
    """The kit is a sheet for plain carts: none can be fitted with it."""


@transaction.atomic
def fit(cart, kit, *, by, at, id=None, lines=(), **about):
    """Record that the kit was put on the cart; other tyres change its tyre size too.

    Where their diameter was not measured, it is what their marked size says, if it does. The
    register takes from it which tyres were on before.

    ``about`` are the fitting's own values, ``done_at``, and ``read``: what the meters showed
    then; ``lines`` are its unsaved lengths. Raises WrongSite for a kit of another site,
    LiftsNothing.
    """
    fitting, *others = fitting_facts(cart, kit, by=by, id=id, **about)
    filed = record_all([(fitting, lines), *((fact, ()) for fact in others)], at=at)
    if filed[0].first:
        tell_tyres_before(filed[0].fact, at=at)
    project.carts([cart.pk])
    return filed[0].fact


@transaction.atomic
def correct_fitting(fitting, kit, lines, *, reason, by, at, id=None, **about):
    """Record a standing fitting anew, whole, as of the same moment; its tyres follow.

    Raises WrongSite for a kit of another site, LiftsNothing, shared.facts.NotStanding when
    it was corrected or struck before.
    """
    _refuse_kit(kit, fitting.site_id)
    lock_sites(fitting.site_id)
    again = correction_of(fitting, reason=reason, by=by, id=id or new_id(), kit=kit, **about)
    filed = record(again, *lines, at=at)
    if filed.first:
        correct_tyres(fitting, again, reason, at)
    project.carts([fitting.cart_id])
    return filed.fact


def fitting_facts(cart, kit, *, by, id=None, read=None, **about):
    """Return the unsaved facts of a fitting: itself, other tyres, what the meters showed."""
    _refuse_kit(kit, cart.site_id)
    fitting = Fitting(
        id=id or new_id(), site_id=cart.site_id, cart_id=cart.pk, kit=kit, by=by, **about
    )
    facts = [fitting]
    if has_other_tyres(fitting, cart):
        facts.append(tyre_change(fitting))
    if read:
        facts.append(_reading(fitting, cart, read))
    return facts


def _reading(fitting, cart, read):
    when = {name: getattr(fitting, name) for name in ("done_at", "day_only", "written_at")}
    told = {"by": fitting.by, "brought_in": fitting.brought_in, **when}
    return meters.reading(cart, id=reading_id(fitting.pk), **told, **read)


def _refuse_kit(kit, site_id):
    if kit.site_id != site_id:
        raise WrongSite(kit)
    if kit.is_plain:
        raise LiftsNothing(kit)


@transaction.atomic
def remove_lift(fitting, reason, *, by, at, done_at=None, id=None, **about):
    """Record that the lift was taken off: its chapter and its rechecks end.

    Raises NotOnCart when it is off the cart already.
    """
    cart = fitting.cart
    lock_sites(cart.site_id)
    removal = Removal(
        id=id or new_id(),
        site_id=cart.site_id,
        cart=cart,
        fitting=fitting,
        reason=reason,
        by=by,
        done_at=done_at,
        **about,
    )
    if _is_off(fitting, removal, done_at or at):
        raise NotOnCart(fitting)
    filed = record(removal, at=at)
    project.carts([cart.pk])
    return filed.fact


def _is_off(fitting, removal, done_at):
    removals = Removal.objects.standing().filter(fitting=fitting)
    fittings = Fitting.objects.standing().filter(cart=fitting.cart_id)
    later = fittings.filter(done_at__gt=fitting.done_at, done_at__lte=done_at)
    return removals.exclude(pk=removal.pk).exists() or later.exists()


@transaction.atomic
def take_wheel_off(cart, wheel, *, by, at, id=None, **about):
    """Record that a wheel was off: its lugs are to be checked again soon."""
    off = WheelOff(
        id=id or new_id(), site_id=cart.site_id, cart_id=cart.pk, wheel=wheel, by=by, **about
    )
    filed = record(off, at=at)
    project.carts([cart.pk])
    return filed.fact
