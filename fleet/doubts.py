"""The meters of a cart as a round finds them: the last figure, and what the next may be."""

from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.meters import LIFE_UNITS_IN, points_of
from fleet.reading_doubts import Doubt, doubt_of
from fleet.usage import LifePoint, life_at
from shared.models import Site
from shared.units import SI_UNITS, UNITS_OF, convert

HOURS, DISTANCE = "hours", "distance"
SLIP, RIGHT, CHANGED, ROLLED, OTHER_CART = "slip", "right", "changed", "rolled", "other cart"
EARLIER = "earlier wrong"
WHY = {
    SLIP: gettext_lazy("A slip of typing: the figure above is right now"),
    RIGHT: gettext_lazy("It is right as typed"),
    CHANGED: gettext_lazy("The meter was changed"),
    ROLLED: gettext_lazy("The meter rolled over to zero"),
    EARLIER: gettext_lazy("It is right, and a figure read before was wrong"),
    OTHER_CART: gettext_lazy("This is another cart"),
}
REASONS = {
    Doubt.LOWER: (SLIP, CHANGED, ROLLED, EARLIER, OTHER_CART),
    Doubt.MAYBE_ROLLED: (ROLLED, SLIP, CHANGED, EARLIER, OTHER_CART),
    Doubt.IMPOSSIBLE: (SLIP, CHANGED, EARLIER, OTHER_CART),
    Doubt.QUESTIONED: (RIGHT, SLIP, CHANGED, EARLIER, OTHER_CART),
}


@dataclass(frozen=True)
class Meter:
    """One meter before a round. ``points`` are in life units, ``rolls_at`` in its own."""

    measure: str
    unit: str
    points: tuple[LifePoint, ...]
    rolls_at: Decimal | None = None

    @property
    def scale(self):
        """Life units in one of the meter's own: hours, or metres."""
        return LIFE_UNITS_IN[self.unit]

    def last(self, at: datetime) -> LifePoint | None:
        """Return the last true point at or before a moment."""
        known = [point for point in self.points if point.at <= at and not point.estimated]
        return known[-1] if known else None

    def last_shown(self, at: datetime) -> Decimal | None:
        """Return the last true figure at or before a moment, in the meter's own unit."""
        point = self.last(at)
        return None if point is None else point.shown / self.scale

    def read(self, measured):
        """Return a shared.units.Measure as a figure of this meter."""
        if measured.unit == self.unit:
            return measured.value
        return convert(measured.si, SI_UNITS[self.measure], self.unit)

    def doubt(self, value: Decimal, at: datetime, hours_run: Decimal | None = None):
        """Return why the meter is hardly likely to show ``value``, None if it may."""
        return doubt_of(
            self.points,
            at,
            value * self.scale,
            measure=self.measure,
            rolls_at=self.rolls_at and self.rolls_at * self.scale,
            hours_run=hours_run,
        )


def until(meter: Meter, at: datetime) -> Meter:
    """Return a meter as it was known to have run up to a moment, whatever came after."""
    return replace(meter, points=tuple(point for point in meter.points if point.at <= at))


def meters_of(facts, site, *, but_round=None, but_reading=None) -> dict[str, Meter]:
    """Return the two meters by measure, from a cart's facts without some of its readings.

    Left out are those of one round, and the one of an id, as text.
    """
    others = [row for row in facts.readings if not but_round or row.round_id != but_round]
    others = [row for row in others if not but_reading or str(row.pk) != but_reading]
    facts = replace(facts, readings=others)
    sites = Site.objects.in_bulk({fact.site_id for fact in facts.changes})
    hours, metres = points_of(facts, sites)
    return {
        HOURS: _meter(HOURS, "h", hours, facts),
        DISTANCE: _meter(DISTANCE, _distance_unit(facts, site), metres, facts),
    }


def _meter(measure, unit, points, facts):
    fitted = [meter for meter in facts.meters if meter.measure == measure]
    return Meter(measure, unit, points, fitted[-1].rolls_at if fitted else None)


def _distance_unit(facts, site):
    fitted = [meter.unit for meter in facts.meters if meter.measure == DISTANCE]
    return fitted[-1] if fitted else UNITS_OF[site.units][DISTANCE]


def hours_run(meters, hours: Decimal | None, at: datetime) -> Decimal | None:
    """Return the hours run since the distance was last read, None where nothing tells."""
    last, last_distance = meters[HOURS].last(at), meters[DISTANCE].last(at)
    if hours is None or last is None or last_distance is None:
        return None
    life_then = life_at(meters[HOURS].points, last_distance.at)
    run = None if life_then is None else last.life + hours - last.shown - life_then
    return run if run is not None and run >= 0 else None


def question(meter, doubt, value: Decimal, at: datetime) -> str:
    """Return the one plain question about a figure that looks wrong."""
    last = meter.last_shown(at)
    said = {
        "value": f"{round(value, 2).normalize():,f} {meter.unit}",
        "last": "" if last is None else f"{last:,.1f} {meter.unit}",
    }
    if last is not None and value < last:
        return _("%(value)s is less than the %(last)s read last. Why?") % said
    if doubt == Doubt.LOWER:
        return _("%(value)s is more than was read later. Why?") % said
    if doubt == Doubt.IMPOSSIBLE:
        return _("From %(last)s to %(value)s there was not time enough. Why?") % said
    return _("%(last)s before, %(value)s now: that is a lot for the time. Why?") % said
