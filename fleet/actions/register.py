"""Changes of the register: carts join, change, rest, wake, move and leave."""

from uuid import uuid5

from django.db import transaction
from django.db.models import F

from fleet.actions import meters, project
from fleet.gather import (
    JOINED,
    LAID_UP,
    LEFT_FLEET,
    MOVED,
    STARTED_UP,
    TYRES_BEFORE,
    WOKEN,
)
from fleet.models import Cart, CartNumber
from fleet.models.cart import PLATE_BYTES, new_plate
from shared.facts import TICK, correction_of, lock_sites, record, record_all
from shared.models import Change, new_id


class Taken(Exception):
    """Another cart has what this one is to be known by."""


class NumberTaken(Taken):
    """Another carries the painted number there, or did until a day on or after that of the act."""

    def __init__(self, number, until=None):
        super().__init__(f"another cart carries number {number} on that day or after it")
        self.number, self.until = number, until


class SerialTaken(Taken):
    """Another cart of the fleet has the serial number."""

    def __init__(self, serial, number):
        super().__init__(f"cart {number} has serial number {serial}")
        self.serial, self.number = serial, number


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
def join_cart(site, values, *, by, at, shown=None, id=None, **when):
    """Take a cart into the fleet; its values are Cart's columns as plain JSON.

    ``shown`` is what its meters show now, as ``meters.reading`` takes it. With the ``id`` of the
    joining given, the cart has the id that ``cart_id_of`` names.
    Raises NumberTaken when another cart carries the number on that day, or after it,
    SerialTaken when one has the serial number, OtherBody when another joined by that id.
    """
    lock_sites(site.pk)
    id = id or new_id()
    # the same again is to be the same word for word
    said = {"plate": uuid5(id, "plate").hex[: 2 * PLATE_BYTES], **values}
    change = joining(site, said, by=by, id=id, cart_id=cart_id_of(id), **when)
    refuse_taken(site, values, change.done_at or at, but=change.cart_id)
    facts = [change, *_read_at_joining(change, shown, by)]
    record_all([(fact, ()) for fact in facts], at=at)
    project.carts([change.cart_id])
    return Cart.objects.get(pk=change.cart_id)


def cart_id_of(joining_id):
    """Return the id of the cart that joins by the change of that id."""
    return uuid5(joining_id, "cart")


def _read_at_joining(change, shown, by):
    """Yield the reading of a cart that has no row yet."""
    if shown:
        cart = Cart(id=change.cart_id, site_id=change.site_id)
        yield meters.reading(cart, by=by, id=uuid5(change.pk, "reading"), **shown)


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


@transaction.atomic
def tell_joining_again(cart, joining, values, *, reason, by, at, id, **when):
    """Record anew how a cart joined: its values then take the place of those told first.

    Raises NumberTaken when another cart carried the number while this one did, OtherBody, and
    NotStanding when the joining was told again before.
    """
    lock_sites(cart.site_id)
    again = correction_of(joining, reason=reason, by=by, id=id, value=values, **when)
    first_span = cart.numbers.first()
    until = first_span.to_day if first_span else None
    _refuse_taken_number(cart.site, values["number"], cart.site.day(again.done_at), cart.pk, until)
    filed = record(again, at=at)
    if filed.first:
        _move_tyres_before(joining, again, at)
    project.carts([cart.pk])
    return filed.fact


def _move_tyres_before(joining, again, at):
    """Let tyres that a fitting says were on since the cart joined have been on since it did."""
    changes = Change.objects.standing().filter(cart_id=joining.cart_id, what=TYRES_BEFORE)
    since = changes.filter(done_at=joining.done_at + TICK).first()
    if since and again.done_at != joining.done_at:
        told = {"id": new_id(), "done_at": again.done_at + TICK}
        record(correction_of(since, reason=again.why_corrected, by=again.by, **told), at=at)


def refuse_taken(site, values, at, *, but=None):
    """Raise Taken where the number or the serial number, if the values have it, is another's."""
    if "number" in values:
        _refuse_taken_number(site, values["number"], site.day(at), but)
    if values.get("serial"):
        _refuse_taken_serial(site, values["serial"], but)


def _refuse_taken_number(site, number, day, but, until=None):
    # typed or called out, "A1" and "a1" are one number
    spans = CartNumber.objects.from_day_on(day).filter(site=site, number__iexact=number)
    spans = spans.filter(from_day__lte=until) if until else spans
    last_first = F("to_day").desc(nulls_first=True)
    taken = spans.exclude(cart_id=but).order_by(last_first).first()
    if taken:
        raise NumberTaken(number, taken.to_day)


def _refuse_taken_serial(site, serial, but):
    # one that left may come back, as a cart of its own
    carts = Cart.objects.in_fleet().filter(site=site, serial__iexact=serial)
    if taken := carts.exclude(pk=but).first():
        raise SerialTaken(serial, taken.number)


@transaction.atomic
def change_cart(cart, what, value, *, by, at, done_at=None, reason="", id=None):
    """Record a change of a cart's register and bring its rows up to date.

    Raises NumberTaken or SerialTaken when the change gives it what another has.
    """
    lock_sites(cart.site_id)
    refuse_taken(cart.site, value, done_at or at, but=cart.pk)
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
    """Record a cart's arrival at another site, whose rules hold from then on.

    Raises NumberTaken or SerialTaken when another cart there has its number or serial number.
    """
    lock_sites(cart.site_id, to_site.pk)
    refuse_taken(to_site, {"number": cart.number, "serial": cart.serial}, at)
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
