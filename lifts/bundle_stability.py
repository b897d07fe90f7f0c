"""The bundle's tables of stability: each measure, its axle lifts, and what they come to.

For comparison only, never a limit.
"""

from collections import defaultdict
from copy import copy
from decimal import Decimal

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import done_at
from fleet.bundle.columns import CART, MOMENT, YES_NO, Column, Table, number
from fleet.bundle.shapes import OF_LINE, fact_table, said, said_by_line, said_in_line
from lifts.models import AxleLift, StabilityMeasure
from lifts.stances import cg_mm_of, compared

PLACES, TENTH = Decimal("0.001"), Decimal("0.1")
EMPTY, SEATED = "empty", "people seated"
BEFORE, NOW = "before", "now"


def told_measures(batch):
    told = list(batch.standing(StabilityMeasure))
    steps = _steps_of([fact for _cart, fact in told])
    for cart, fact in told:
        yield cart, fact, {"steps": len(steps[fact.pk]), "height_mm": _height(fact, steps[fact.pk])}


def _steps_of(facts):
    """Return {measure id: the steps of its axle lift}, with one query."""
    steps = defaultdict(list)
    found = AxleLift.objects.filter(fact__in=[fact.pk for fact in facts]) if facts else ()
    for step in sorted(found, key=lambda step: (step.fact_id, step.place)):
        steps[step.fact_id].append(step)
    return steps


def _height(fact, steps):
    try:
        return _rounded(cg_mm_of(fact, steps), TENTH)
    except ValueError:
        return None


def _rounded(figure, places=PLACES):
    return Decimal(str(figure)).quantize(places)


def _measured(name, meaning, unit="mm"):
    typed = said(f"{name}_typed", _("%s, as typed") % meaning)
    return typed, said(f"{name}_{unit}", meaning, unit, numeric=True)


MEASURES = fact_table(
    "stability_measures.csv",
    _("each time a cart was weighed and measured for its stability"),
    said("measure", _("the measure"), field="id"),
    (
        *_measured("mass", _("mass of the empty cart"), "kg"),
        *_measured("track", _("track")),
        *_measured("wheelbase", _("wheelbase")),
        *_measured("hub_height", _("height of the hubs above the road")),
        *_measured("cg", _("height of the empty cart's centre of gravity, as told")),
        *_measured("people", _("mass of the people seated"), "kg"),
        *_measured("seated", _("height of their centre of gravity")),
        said("tyre_mm", _("diameter of the tyres on that day"), "mm", numeric=True),
        said("is_lifted", _("a lift was on the cart"), YES_NO),
        number("steps", _("steps of its axle lift; see axle_lifts.csv")),
        number("height_mm", _("computed: height of the centre of gravity that it comes to"), "mm"),
        said("note", _("note")),
    ),
    told_measures,
)


def step_rows(batch):
    told = list(batch.standing(StabilityMeasure))
    steps = _steps_of([fact for _cart, fact in told])
    for cart, fact in told:
        about = {**cart.named(fact.done_at), "measure": fact.pk}
        yield from ({**about, **said_by_line(step, OF_STEP)} for step in steps[fact.pk])


OF_STEP = (
    *OF_LINE,
    said_in_line("raised_typed", _("how high one axle was raised, as typed")),
    said_in_line("raised_mm", _("how high one axle was raised"), "mm", numeric=True),
    said_in_line("gained_typed", _("what the other axle then gained, as typed")),
    said_in_line("gained_kg", _("what the other axle then gained"), "kg", numeric=True),
)
STEPS = Table(
    "axle_lifts.csv",
    _("each step of the axle lifts that a height of the centre of gravity was found by"),
    (
        *CART,
        said("measure", _("the measure; see stability_measures.csv"), field="id"),
        *OF_STEP,
    ),
    step_rows,
    entry="measure",
    key=("measure", "of", "place"),
)


def compared_rows(batch):
    """Yield how steady each measured cart stands, before and now, as of the day."""
    ids = batch.carts_with(StabilityMeasure)
    for cart in batch.carts:
        if cart.is_here and cart.id in ids:
            yield from _compared(cart)


def _compared(cart):
    row = copy(cart.row)
    row.site = cart.scope.site
    found = compared(row, cart.scope.cut)
    about = {
        **cart.named(),
        "measure": found.measure.pk,
        "measured_at": done_at(found.measure, cart.scope.zone),
    }
    if found.now is None:
        yield {**about, **dict.fromkeys(OF_STANCE, ""), "assumed": found.why_not}
        return
    said = " ".join(map(str, found.assumed))
    for when, words, stance in ((BEFORE, found.earlier, found.before), (NOW, "", found.now)):
        for load, steady in _loads(stance):
            cells = {"state": when, "before_what": words, "load": load}
            yield {**about, **cells, **_steady(stance, steady), "assumed": said}


def _loads(stance):
    if stance is not None:
        yield EMPTY, stance.empty
        if stance.seated is not None:
            yield SEATED, stance.seated


def _steady(stance, steady):
    return {
        "track_mm": _rounded(stance.track_mm, TENTH),
        "height_mm": _rounded(steady.cg_mm, TENTH),
        "stability_factor": _rounded(steady.ssf),
        "tip_angle_deg": _rounded(steady.tip_deg, TENTH),
    }


OF_STANCE = (
    "state",
    "before_what",
    "load",
    "track_mm",
    "height_mm",
    "stability_factor",
    "tip_angle_deg",
)
COMPARED = Table(
    "stability.csv",
    _(
        "computed: how steady a cart stood before its lift or tyres and stands now, to the first "
        "order; for comparison only, never a limit"
    ),
    (
        *CART,
        Column("measure", _("the last measure; see stability_measures.csv")),
        Column("measured_at", _("when it was measured"), MOMENT),
        Column("state", _("before or now; empty: nothing could be computed")),
        Column("before_what", _("before what: the lift, or other tyres")),
        Column("load", _("empty, or people seated")),
        number("track_mm", _("track"), "mm"),
        number("height_mm", _("height of the centre of gravity above the road"), "mm"),
        number("stability_factor", _("static stability factor: half the track by the height")),
        number("tip_angle_deg", _("side slope at which a rigid cart is about to tip"), "°"),
        Column("assumed", _("what was assumed, or why nothing could be computed")),
    ),
    compared_rows,
    key=("cart_id", "state", "load"),
)
