"""What the records of a cart's lift lack, for the gaps of the bundle."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.exception_tables import is_in_fleet
from lifts.bundle import fittings_in
from lifts.bundle_rounds import parts_at
from lifts.fitting_record import WITH_BLOCKS
from lifts.label_letters import is_too_small
from lifts.models import (
    BrakeCheck,
    DriveCheck,
    Fitting,
    FittingLength,
    LabelCheck,
    SpeedRun,
    StabilityMeasure,
)

What = FittingLength.What
OF_FITTING = {
    "fitted_by": _("who fitted the lift"),
    "rise_front_mm": _("measured rise in front"),
    "rise_rear_mm": _("measured rise in the rear"),
    "tyre_after": _("tyres after the fitting"),
    "hub_bearing": _("type of hub bearing"),
    "lug_seat": _("seat of the lugs"),
    "locker_used": _("thread-locker used"),
    "brake_tensioned": _("brake tensioned again"),
    "clear_at_lock": _("steering tried from lock to lock"),
    "handed_to": _("whom the cart was handed to"),
    "label_batch": _("batch of the label used"),
}
OF_U_BOLTS = {
    "u_bolt_batch": _("batch of the U-bolts"),
    "u_bolt_grade": _("grade of the U-bolts"),
    "u_bolt_thread": _("thread of the U-bolts"),
    "u_bolts_a_side": _("how many U-bolts a side"),
    "u_bolts_new": _("new U-bolts or old ones"),
}
# of each, how many places on the cart
OF_LENGTHS = {
    What.RIDE_HEIGHT: (4, _("ride height at the four corners")),
    What.WHEEL_OFFSET: (1, _("offset of the wheels")),
    What.BRAKE_TRAVEL: (1, _("travel of the brake pedal")),
}
BLOCKS = {What.BLOCK: (2, _("height of both blocks"))}


def gaps(batch):
    """Yield (cart, what is not recorded, the entry it is of) for the lifts now on carts."""
    on = [
        (cart, chapter)
        for cart in batch.carts
        if is_in_fleet(cart)
        for chapter in cart.facts.chapters
        if chapter.until_at is None
    ]
    fittings, lines = fittings_in(batch)
    weighed = batch.carts_with(StabilityMeasure)
    for cart, chapter in on:
        key = chapter.fitting_id
        for lacks in _of_fitting(fittings[key], lines[key]):
            yield cart, lacks, key
        for lacks in _since(cart, chapter):
            yield cart, lacks, key
        if cart.id not in weighed:
            yield cart, _("any measure of its stability"), key
        yield from _label_gaps(cart, key)


def _of_fitting(fitting, lines):
    has_blocks = fitting.kit.rear in WITH_BLOCKS
    if fitting.paperwork != Fitting.Paperwork.FULL:
        yield _("full papers of the fitting")
    for name, lacks in (OF_FITTING | (OF_U_BOLTS if has_blocks else {})).items():
        if getattr(fitting, name) in ("", None):
            yield lacks
    if fitting.u_bolts_new is False:
        yield _("new U-bolts: old ones were used again")
    for what, (places, lacks) in (OF_LENGTHS | (BLOCKS if has_blocks else {})).items():
        if sum(line.what == what and line.after_mm is not None for line in lines) < places:
            yield lacks


def _since(cart, chapter):
    """Yield which runs were not driven since the lift was fitted."""
    rounds = [row for row in cart.facts.rounds if row.done_at >= chapter.from_at]
    if not parts_at(cart, rounds, DriveCheck):
        yield _("any test drive since the fitting")
    if not parts_at(cart, rounds, SpeedRun):
        yield _("any speed run since the fitting")
    if not any(check.has_stop_runs for check in parts_at(cart, rounds, BrakeCheck)):
        yield _("any timed stops since the fitting")


def _label_gaps(cart, fitting_id):
    looks = parts_at(cart, cart.facts.rounds, LabelCheck)
    if not looks:
        yield cart, _("any look at the warning label"), fitting_id
        return
    last = max(looks, key=lambda fact: (fact.done_at, fact.pk))
    if is_too_small(last):
        yield cart, _("letters of the warning label tall enough for where it is read"), last.pk
