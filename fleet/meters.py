"""A cart's meter facts as life points: life hours, and true metres."""

from decimal import Decimal
from operator import attrgetter

from fleet.models import Reading
from fleet.usage import MeterStart, Shown, TyreChange, life_points
from shared.models import Site

LIFE_UNITS_IN = {"h": Decimal(1), "km": Decimal(1000), "mi": Decimal("1609.344")}


def points_of(facts, sites):
    """Return the life points of both meters: life hours, and true metres."""
    tyres = [
        TyreChange(change.done_at, Decimal(change.value["tyre_mm"]))
        for change in facts.changes
        if change.value.get("tyre_mm")
    ]
    return (
        life_points(_starts(facts, "hours"), _shown(facts, "hours", sites)),
        life_points(_starts(facts, "distance"), _shown(facts, "distance", sites), tyres),
    )


def _starts(facts, measure):
    for meter in facts.meters:
        if meter.measure == measure:
            unit = LIFE_UNITS_IN[meter.unit]
            yield MeterStart(
                meter.done_at,
                meter.start_shown * unit,
                old_final=_times(meter.old_final, unit),
                rolls_at=_times(meter.rolls_at, unit),
                wheel_driven=meter.wheel_driven,
                set_for_mm=meter.set_for_mm,
            )


def _times(value, unit):
    return None if value is None else value * unit


def _shown(facts, measure, sites):
    shown, rolled = attrgetter(f"{measure}_shown"), attrgetter(f"{measure}_rolled")
    estimate = str(Reading.Source.ESTIMATED)
    for reading in facts.readings:
        value = shown(reading)
        if value is not None:
            if measure != "hours":
                value *= LIFE_UNITS_IN[unit_at(facts, measure, reading, sites)]
            yield Shown(reading.done_at, value, rolled(reading), reading.source == estimate)


def latest(facts, sites, points):
    """Return Cart's columns of the latest readings, as shown and in life units."""
    hours, metres = points
    lasts = [read[-1].at for read in points if read]
    said = {"read_at": max(lasts, default=None)}
    if hours:
        said |= {"hours_shown": hours[-1].shown, "hours_life": hours[-1].life}
    if metres:
        unit = unit_at(facts, "distance", _last_distance(facts), sites)
        said |= {
            "distance_unit": unit,
            "distance_shown": metres[-1].shown / LIFE_UNITS_IN[unit],
            "metres_life": metres[-1].life,
            "metres_per_shown": LIFE_UNITS_IN[unit] * _tyre_factor(facts),
        }
    return said


def _last_distance(facts):
    seen = [row for row in facts.readings if row.distance_shown is not None]
    seen += [meter for meter in facts.meters if meter.measure == "distance"]
    return max(seen, key=lambda fact: fact.done_at)


def _tyre_factor(facts):
    """Return how much farther than shown the cart runs on its present tyres."""
    meters = [meter for meter in facts.meters if meter.measure == "distance"]
    tyres = [change.value["tyre_mm"] for change in facts.changes if change.value.get("tyre_mm")]
    if not (meters and tyres and meters[-1].wheel_driven and meters[-1].set_for_mm):
        return Decimal(1)
    return Decimal(tyres[-1]) / meters[-1].set_for_mm


def unit_at(facts, measure, fact, sites):
    """Return the unit of the meter in place at a fact: the site's own where none is recorded."""
    if measure == "hours":
        return "h"
    fitted = [m.unit for m in facts.meters if m.measure == measure and m.done_at <= fact.done_at]
    if fitted:
        return fitted[-1]
    return "mi" if sites[fact.site_id].units == Site.Units.INCH else "km"
