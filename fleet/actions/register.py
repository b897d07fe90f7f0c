"""Changes of the register: carts join, change, rest, wake, move and leave."""

from django.db import transaction

from fleet.actions import meters, project
from fleet.gather import JOINED, LAID_UP, LEFT_FLEET, MOVED, STARTED_UP, WOKEN
from fleet.models import Cart, CartNumber
from fleet.models.cart import new_plate
from shared.facts import lock_sites, record, record_all
from shared.models import Change, new_id


class NumberTaken(Exception):
    """Another cart carries that painted number at the site on that day, or after it."""

    def __init__(self, number):
        super().__init__(f"another cart carries number {number} on that day or after it")
        self.number = number


def change_of(cart_id, site_id, what, value, *, by, done_at=None, **more):
    """Return an unsaved change of a cart's register."""
    return Change(
        site_id=site_id,
        what=what,
        value=value,
        cart_id=cart_id,
        by=by,
        done_at=done_at,
        **more,
    )


def joining(site, values, *, by, done_at=None, cart_id=None, **more):
    """Return the unsaved change with which a cart joins; its values name Cart's columns."""
    said = {"plate": new_plate(), **values}
    return change_of(cart_id or new_id(), site.pk, JOINED, said, by=by, done_at=done_at, **more)


@transaction.atomic
def join_cart(site, values, *, by, at, done_at=None, id=None):
    """Take a cart into the fleet; its values are Cart's columns as plain JSON.

    Raises NumberTaken when another cart carries the number on that day, or after it.
    """
    lock_sites(site.pk)
    refuse_taken_number(site, values["number"], done_at or at)
    change = joining(site, values, by=by, done_at=done_at, id=id or new_id())
    record(change, at=at)
    project.carts([change.cart_id])
    return Cart.objects.get(pk=change.cart_id)


@transaction.atomic
def join_carts(site, values_by_id, *, by, at):
    """Take many carts into the fleet at once; their numbers are the caller's to keep apart."""
    lock_sites(site.pk)
    changes = [
        joining(site, values, by=by, cart_id=cart_id) for cart_id, values in values_by_id.items()
    ]
    record_all([(change, ()) for change in changes], at=at)
    project.at_once(values_by_id)
    return rows(values_by_id)


def rows(cart_ids):
    """Return the carts' rows in the order of the ids."""
    found = Cart.objects.select_related("site").in_bulk(list(cart_ids))
    return [found[cart_id] for cart_id in cart_ids]


def refuse_taken_number(site, number, at, *, but=None):
    """Raise NumberTaken where another cart carries the number on a moment's day, or after it."""
    # typed or called out, "A1" and "a1" are one number
    taken = CartNumber.objects.from_day_on(site.day(at)).filter(site=site, number__iexact=number)
    if taken.exclude(cart_id=but).exists():
        raise NumberTaken(number)


@transaction.atomic
def change_cart(cart, what, value, *, by, at, done_at=None, reason="", id=None):
    """Record a change of a cart's register and bring its rows up to date.

    Raises NumberTaken when the change gives it a number that another carries.
    """
    lock_sites(cart.site_id)
    if "number" in value:
        refuse_taken_number(cart.site, value["number"], done_at or at, but=cart.pk)
    change = change_of(
        cart.pk,
        cart.site_id,
        what,
        value,
        by=by,
        done_at=done_at,
        reason=reason,
        id=id or new_id(),
    )
    filed = record(change, at=at)
    project.carts([cart.pk])
    return filed.fact


def lay_up(cart, *, by, at, done_at=None, reason=""):
    return change_cart(cart, LAID_UP, {}, by=by, at=at, done_at=done_at, reason=reason)


def wake(cart, *, by, at, done_at=None):
    return change_cart(cart, WOKEN, {}, by=by, at=at, done_at=done_at)


def leave(cart, *, by, at, done_at=None, reason=""):
    return change_cart(cart, LEFT_FLEET, {}, by=by, at=at, done_at=done_at, reason=reason)


def change_tyres(cart, tyre, tyre_mm, *, by, at, done_at=None):
    """Record another tyre size: it changes speed, stopping, the meter and stability."""
    value = {"tyre": tyre, "tyre_mm": str(tyre_mm)}
    return change_cart(cart, "tyre size", value, by=by, at=at, done_at=done_at)


@transaction.atomic
def move_cart(cart, to_site, *, by, at, reason=""):
    """Record a cart's arrival at another site, whose rules hold from then on."""
    lock_sites(cart.site_id, to_site.pk)
    refuse_taken_number(to_site, cart.number, at)
    if to_site.units != cart.site.units:
        meters.name_units([cart.pk], by=by, at=at)
    gone = change_of(
        cart.pk, cart.site_id, "moved away", {"to": to_site.slug}, by=by, reason=reason
    )
    come = change_of(cart.pk, to_site.pk, MOVED, {"from": cart.site.slug}, by=by, reason=reason)
    record_all([(gone, ()), (come, ())], at=at)
    project.carts([cart.pk])
    return come


def start_up(cart, due_by, *, by, unrecorded_before, **more):
    """Return the unsaved change that gives an old lift its first days: no clock runs backwards."""
    value = {
        "due_by": {kind: day.isoformat() for kind, day in due_by.items()},
        "unrecorded_before": unrecorded_before.isoformat(),
    }
    return change_of(cart.pk, cart.site_id, STARTED_UP, value, by=by, **more)
