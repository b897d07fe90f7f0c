"""What a cart's stability is computed from: weighed, measured, told again."""

from django.db import transaction

from fleet.kinds import Cut
from lifts.models import AxleLift, StabilityMeasure
from lifts.tyre_changes import tyres_of, tyres_on
from shared.facts import correction_of, lock_sites, record
from shared.models import new_id


@transaction.atomic
def add_stability(cart, steps, *, by, at, id=None, **about):
    """Record a measure with the steps of its axle lift; the tyres of its day are copied in.

    ``about`` are the measure's own values, and ``done_at``; ``steps`` are unsaved AxleLift.
    """
    lock_sites(cart.site_id)
    measure = StabilityMeasure(
        id=id or new_id(), site_id=cart.site_id, cart_id=cart.pk, by=by, **about
    )
    measure.tyre_mm = _tyre_mm(cart.pk, measure.done_at or at)
    return record(measure, *steps, at=at).fact


@transaction.atomic
def correct_stability(measure, steps, *, reason, by, at, id=None, **about):
    """Record a measure anew in place of a standing one, as of the same moment.

    Raises shared.facts.NotStanding when it was corrected or struck before.
    """
    lock_sites(measure.site_id)
    told = correction_of(measure, reason=reason, by=by, id=id or new_id(), **about)
    return record(told, *steps, at=at).fact


def steps_of(pairs):
    """Return the unsaved steps of an axle lift from (raised, gained) measures, in their order."""
    return [
        AxleLift(
            place=place,
            raised_typed=raised.typed,
            raised_mm=raised.si,
            gained_typed=gained.typed,
            gained_kg=gained.si,
        )
        for place, (raised, gained) in enumerate(pairs, start=1)
    ]


def _tyre_mm(cart_id, done_at):
    tyres = tyres_on(tyres_of(cart_id, Cut.known_now(done_at)), done_at)
    return tyres and tyres.mm
