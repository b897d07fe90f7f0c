"""A cart kept out of use, handed back, reported on, noted, and given a recheck by order."""

from django.db import transaction

from fleet.actions import project
from fleet.models import HandBack, Note, RecheckOrder, Report, Tag
from shared.facts import lock_sites, record, record_all
from shared.models import new_id


class HandedBack(Exception):
    """The tag was answered by a hand-back before this one."""


def _fact(model, cart, *, by, done_at=None, id=None, **values):
    return model(
        id=id or new_id(),
        site_id=cart.site_id,
        cart_id=cart.pk,
        by=by,
        done_at=done_at,
        **values,
    )


@transaction.atomic
def tag_cart(cart, reason, *, by, at, photos=(), **more):
    """Keep a cart out of use. ``photos`` are unsaved Photo facts of the tag."""
    lock_sites(cart.site_id)
    fact = _fact(Tag, cart, reason=reason, by=by, **more)
    for photo in photos:
        photo.about = fact.pk
    record_all([(fact, ()), *((photo, ()) for photo in photos)], at=at)
    project.carts([cart.pk])
    return fact


@transaction.atomic
def hand_back(tag, *, done, repaired_by, by, at, drive_note="", id=None):
    """Return a tagged cart to use; raises HandedBack when somebody already did."""
    lock_sites(tag.site_id, tag.cart.site_id)
    earlier = HandBack.objects.filter(tag=tag).standing().first()
    if earlier is not None and earlier.pk != id:
        raise HandedBack(tag)
    fact = _fact(
        HandBack,
        tag.cart,
        id=id,
        by=by,
        tag=tag,
        done=done,
        repaired_by=repaired_by,
        drive_note=drive_note,
    )
    record(fact, at=at)
    project.carts([tag.cart_id])
    return fact


@transaction.atomic
def report(cart, noticed, *, by, at, note="", id=None):
    """Take down what the desk or a driver noticed."""
    return record(_fact(Report, cart, noticed=noticed, note=note, by=by, id=id), at=at).fact


@transaction.atomic
def add_note(cart, text, *, by, at, id=None):
    return record(_fact(Note, cart, text=text, by=by, id=id), at=at).fact


@transaction.atomic
def order_recheck(cart, kind_code, due_on, *, reason, by, at, subject="", stops=False, id=None):
    """Order a recheck sooner than the rules, or beside them."""
    lock_sites(cart.site_id)
    fact = _fact(
        RecheckOrder,
        cart,
        kind_code=kind_code,
        subject=subject,
        due_on=due_on,
        stops=stops,
        reason=reason,
        by=by,
        id=id,
    )
    record(fact, at=at)
    project.carts([cart.pk])
    return fact
