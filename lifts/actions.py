"""What happens to kits and lifts: each act records its facts and re-projects the cart.

``id`` makes a second sending of the same act the first one again; ``done_at`` None is
the moment of arrival.
"""

from decimal import Decimal
from uuid import uuid5

from django.db import transaction

from fleet.actions import project, register
from fleet.gather import TOLD_COUNTS
from fleet.kinds import Cut
from fleet.standing import FOREVER
from lifts.models import Fitting, GreasePoint, Joint, Kit, Removal, WheelOff
from lifts.source import LiftSource
from lifts.told import told_days
from shared.facts import lock_sites, record, record_all, strike
from shared.models import Change, new_id

KIT = "kit"
TYRE_SIZE = "tyre size"
JOINT_DECIMALS = ("pitch_mm", "target_nm", "low_nm", "high_nm")
KIT_DECIMALS = ("rise_front_mm", "rise_rear_mm")


class KitKnown(Exception):
    """The site has a kit of that code already."""


class KitReplaced(Exception):
    """A newer edition is in force, or the code differs: nothing was replaced."""


class NotOnCart(Exception):
    """The lift was removed, or another was put in its place, before."""


class NotTold(Exception):
    """Nobody told of that day, it cannot count, or it does already."""


class WrongSite(Exception):
    """The kit belongs to another site than the cart."""


@transaction.atomic
def add_kit(site, value, *, by, at, done_at=None, id=None):
    """Record a new kit from its whole value and return its row.

    Raises KitKnown for a code that the site uses already.
    """
    lock_sites(site.pk)
    change = Change(id=id or new_id(), site=site, what=KIT, value=value, by=by, done_at=done_at)
    if Kit.objects.filter(site=site, code=value["code"]).exclude(pk=change.pk).exists():
        raise KitKnown(value["code"])
    return _file_kit(change, at)


@transaction.atomic
def replace_kit(kit, value, *, by, at, done_at=None, id=None):
    """Record a new edition of the kit; what was done under the old one stays with it.

    Raises KitReplaced when the kit is not the edition in force.
    """
    lock_sites(kit.site_id)
    change = Change(
        id=id or new_id(), site_id=kit.site_id, what=KIT, value=value, by=by, done_at=done_at
    )
    if Kit.objects.filter(pk=change.pk).exists():
        return _file_kit(change, at)
    ended = Kit.objects.current().filter(pk=kit.pk, code=value["code"])
    if not ended.update(replaced_at=done_at or at):
        raise KitReplaced(kit)
    following = _file_kit(change, at)
    # it arrives no earlier than what came before it, whatever the clock says
    Kit.objects.filter(pk=kit.pk).update(replaced_at=following.from_at)
    return following


def _file_kit(change, at):
    if record(change, at=at).first:
        kit, joints, points = kit_rows(change)
        kit.save(force_insert=True)
        Joint.objects.bulk_create(joints)
        GreasePoint.objects.bulk_create(points)
    return Kit.objects.get(pk=change.pk)


def kit_rows(change):
    """Return the kit, its joints and its grease points that a change says, unsaved."""
    about = {name: text for name, text in change.value.items() if name not in ("joints", "points")}
    kit = Kit(id=change.pk, site_id=change.site_id, from_at=change.done_at, **about)
    _read_decimals(kit, KIT_DECIMALS)
    joints = _rows(Joint, kit, change.value["joints"])
    for joint in joints:
        _read_decimals(joint, JOINT_DECIMALS)
    return kit, joints, _rows(GreasePoint, kit, change.value["points"])


def _rows(model, kit, values):
    kind = model._meta.model_name
    return [
        model(id=uuid5(kit.pk, f"{kind}:{row['name']}"), kit=kit, place=place, **row)
        for place, row in enumerate(values, start=1)
    ]


def _read_decimals(row, names):
    for name in names:
        text = getattr(row, name)
        setattr(row, name, None if text is None else Decimal(text))


@transaction.atomic
def fit(cart, kit, *, by, at, id=None, **about):
    """Record that the kit was put on the cart; other tyres change its tyre size too.

    ``about`` are the fitting's own values, and ``done_at``. Raises WrongSite for a kit
    of another site.
    """
    facts = fitting_facts(cart, kit, by=by, id=id, **about)
    filed = record_all([(fact, ()) for fact in facts], at=at)
    project.carts([cart.pk])
    return filed[0].fact


def fitting_facts(cart, kit, *, by, id=None, **about):
    """Return the unsaved facts of a fitting: itself, and the change of tyres if it is one."""
    if kit.site_id != cart.site_id:
        raise WrongSite(kit)
    fitting = Fitting(
        id=id or new_id(), site_id=cart.site_id, cart_id=cart.pk, kit=kit, by=by, **about
    )
    has_other_tyres = fitting.tyre_after and fitting.tyre_after != cart.tyre
    return [fitting, *([_tyre_change(fitting)] if has_other_tyres else [])]


def _tyre_change(fitting):
    size_mm = fitting.tyre_after_mm
    return Change(
        id=uuid5(fitting.pk, TYRE_SIZE),
        site_id=fitting.site_id,
        what=TYRE_SIZE,
        value={"tyre": fitting.tyre_after, "tyre_mm": None if size_mm is None else str(size_mm)},
        cart_id=fitting.cart_id,
        by=fitting.by,
        done_at=fitting.done_at,
        day_only=fitting.day_only,
        written_at=fitting.written_at,
        brought_in=fitting.brought_in,
    )


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
    if _is_off(fitting, removal, done_at or at, known_by=at):
        raise NotOnCart(fitting)
    filed = record(removal, at=at)
    project.carts([cart.pk])
    return filed.fact


def _is_off(fitting, removal, done_at, *, known_by):
    removals = Removal.objects.standing(known_by).filter(fitting=fitting)
    fittings = Fitting.objects.standing(known_by).filter(cart=fitting.cart_id)
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


@transaction.atomic
def count_told(cart, kind, day, *, reason, by, at):
    """Let the told day of a kind of work start its clock, as if it had been seen then.

    Raises NotTold where no lift on the cart has such a day that may yet count.
    """
    lock_sites(cart.site_id)
    for told in _told_of(cart):
        if (told.kind, told.day) == (kind, day) and not (told.counted or told.is_before_lift):
            value = {kind: day.isoformat(), "fitting": str(told.fitting_id)}
            return register.change_cart(cart, TOLD_COUNTS, value, reason=reason, by=by, at=at)
    raise NotTold(kind, day)


def _told_of(cart):
    everything = Cut(FOREVER, FOREVER)
    spans = LiftSource().chapters([cart.pk], everything)
    on = [span.fitting_id for span in spans if span.until_at is None]
    fittings = Fitting.objects.select_related("site").filter(pk__in=on)
    return [told for fitting in fittings for told in told_days(fitting, everything)]


@transaction.atomic
def strike_told(cart, change, *, reason, by, at):
    """Take back that a told day counts. Raises NotStanding when it was taken back before."""
    lock_sites(cart.site_id)
    filed = strike(change, reason=reason, by=by, at=at, site=cart.site)
    project.carts([cart.pk])
    return filed.fact
