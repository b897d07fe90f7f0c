from collections import defaultdict
from uuid import UUID

from fleet.kinds import Chapter, Happening, Source
from fleet.lateness import acts_from, arrival_of
from fleet.tellings import all_tellings
from lifts.lift_ends import end_of
from lifts.models import Fitting, Kit, Removal, WheelOff
from shared.standing import standing_rows

FITTED, WHEEL_OFF, UNPROVEN = "fitted", "wheel-off", "unproven"
ARRIVED = ("id", "cart_id", "done_at", "written_at", "received_at", "brought_in")
# few of their columns bear on what falls due
ENOUGH = {
    Fitting: (*ARRIVED, "corrects", "day_only", "kit_id", "paperwork"),
    Removal: (*ARRIVED, "fitting_id"),
    WheelOff: ("id", "cart_id", "done_at", "wheel"),
}

_codes: dict[UUID, str] = {}


class LiftSource(Source):
    """Fittings and wheels taken off start clocks; fittings and removals bound chapters."""

    models = (Fitting, Removal, WheelOff)

    def told(self, cart_ids, cut):
        fittings = _standing(Fitting, cart_ids, cut)
        told = all_tellings(fittings, Fitting)
        happenings = [*_starts(fittings, told, cut), *_wheels_off(cart_ids, cut)]
        return happenings, _chapters(fittings, told, cart_ids, cut)

    def chapters(self, cart_ids, cut):
        fittings = _standing(Fitting, cart_ids, cut)
        return _chapters(fittings, all_tellings(fittings, Fitting), cart_ids, cut)


def _starts(fittings, told, cut):
    for fitting in fittings:
        # a lift older than the records runs no clocks backwards
        if fitting.brought_in:
            continue
        yield _happening(fitting, FITTED, fitting.done_at)
        unproven_at = _unproven_at(told.get(fitting.pk, [fitting]))
        if unproven_at and unproven_at <= cut.happened_by:
            yield _happening(fitting, UNPROVEN, unproven_at)


def _wheels_off(cart_ids, cut):
    for off in _standing(WheelOff, cart_ids, cut):
        yield Happening(off.cart_id, off.pk, WHEEL_OFF, off.done_at, subject=off.wheel)


def _chapters(every, told, cart_ids, cut):
    fittings, removals = defaultdict(list), defaultdict(list)
    for fitting in every:
        fittings[fitting.cart_id].append(fitting)
    for removal in _standing(Removal, cart_ids, cut):
        removals[removal.cart_id].append(removal)
    codes = _codes_of({fitting.kit_id for fitting in every})
    for cart_id, fitted in fittings.items():
        for place, fitting in enumerate(fitted):
            before = frozenset(one.pk for one in told.get(fitting.pk, ())[1:])
            ids, later = {fitting.pk, *before}, fitted[place + 1 :]
            end = end_of(fitting, ids, removals[cart_id], later, cut.happened_by)
            yield _chapter(fitting, codes[fitting.kit_id], before, end)


def _happening(fitting, name, at):
    return Happening(fitting.cart_id, fitting.pk, name, at, chapter=fitting.pk)


def _unproven_at(told):
    """Return from when a lift without papers counts as unproven: told late, from then on.

    ``told`` are the tellings of its fitting, the newest first; None for one with papers.
    """
    known_at = None
    for telling in told:
        if telling.paperwork != Fitting.Paperwork.NONE:
            break
        known_at = acts_from(telling.done_at, arrival_of(telling), telling.brought_in)
    return known_at


def _chapter(fitting, kit_code, told_before, end):
    return Chapter(
        fitting.cart_id,
        fitting.pk,
        kit_code,
        fitting.done_at,
        until_at=end and end.at,
        ended_by=end and end.fact_id,
        is_unproven=fitting.paperwork == Fitting.Paperwork.NONE,
        from_day_only=fitting.day_only,
        told_before=told_before,
    )


def _standing(model, cart_ids, cut):
    return standing_rows(model, cart_ids, cut.happened_by, cut.known_by, ENOUGH[model])


def _codes_of(kit_ids):
    # an edition's code never changes: it is read once a process
    unknown = kit_ids - _codes.keys()
    if unknown:
        _codes.update(Kit.objects.filter(pk__in=unknown).values_list("pk", "code"))
    return _codes
