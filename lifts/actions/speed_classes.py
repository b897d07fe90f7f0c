"""What happens to a site's speed classes, and to the class that a cart is held to.

Each files the whole table, or the one claim, as a change: it acts forward only. ``id``
makes a second sending of the same act the first one again.
"""

from dataclasses import replace

from django.db import transaction

from fleet.actions.register import change_cart
from fleet.standing import EVERYTHING
from lifts.classes import CLAIM, NONE_CLAIMED, RESERVED, TABLE, USUAL, table_at
from lifts.speed_classes import SpeedClass, as_json
from shared.facts import lock_sites, record
from shared.models import Change, new_id


class ClassKnown(Exception):
    """The table has a class of that code already, or the code means something else."""


class ClassGone(Exception):
    """The table has no class of that code any more."""


@transaction.atomic
def add_class(site, speed_class: SpeedClass, *, reason, by, at, id=None):
    """Add a class to the end of the site's table. Raises ClassKnown."""
    table = _table(site, id)
    if speed_class.code in RESERVED or table.named(speed_class.code):
        raise ClassKnown(speed_class.code)
    return _file(site, replace(table, classes=(*table.classes, speed_class)), reason, by, at, id)


@transaction.atomic
def change_class(site, speed_class: SpeedClass, *, reason, by, at, id=None):
    """Put a class in place of the one of its code. Raises ClassGone."""
    table = _table(site, id)
    _refuse_gone(table, speed_class.code)
    classes = tuple(speed_class if one.code == speed_class.code else one for one in table.classes)
    return _file(site, replace(table, classes=classes), reason, by, at, id)


@transaction.atomic
def drop_class(site, code, *, reason, by, at, id=None):
    """Take a class out of the table; carts held to it have no class then. Raises ClassGone."""
    table = _table(site, id)
    _refuse_gone(table, code)
    kept = tuple(one for one in table.classes if one.code != code)
    usual = "" if table.usual == code else table.usual
    return _file(site, replace(table, classes=kept, usual=usual), reason, by, at, id)


@transaction.atomic
def set_usual(site, usual, tags_over, *, reason, by, at, id=None):
    """Say which class carts have without a claim, and whether one over its class is tagged.

    Raises ClassGone.
    """
    table = _table(site, id)
    if usual:
        _refuse_gone(table, usual)
    return _file(site, replace(table, usual=usual, tags_over=tags_over), reason, by, at, id)


@transaction.atomic
def claim_class(cart, code, *, reason, by, at, id=None):
    """Hold a cart to a class, to the site's usual one ("usual") or to none ("none").

    Raises ClassGone.
    """
    if code not in (USUAL, NONE_CLAIMED):
        _refuse_gone(_table(cart.site, id), code)
    value = {"speed_class": code}
    return change_cart(cart, CLAIM, value, reason=reason, by=by, at=at, id=id)


def _table(site, id):
    """Return the table under the site's lock; for an act sent again, the one before it."""
    lock_sites(site.pk)
    sent_before = Change.objects.filter(pk=id).first()
    return table_at(site.pk, EVERYTHING, but=sent_before)


def _refuse_gone(table, code):
    if table.named(code) is None:
        raise ClassGone(code)


def _file(site, table, reason, by, at, id):
    value = {
        "classes": as_json(table.classes),
        "usual": table.usual,
        "tags_over": table.tags_over,
    }
    change = Change(id=id or new_id(), site=site, what=TABLE, value=value, reason=reason, by=by)
    return record(change, at=at).fact
