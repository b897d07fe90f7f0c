"""The meters as they stood at a fitting told by form: judged and kept as those of a sheet are."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from uuid import uuid5

from django.utils.translation import gettext as _

from fleet.importing.known import meter_facts_of
from fleet.importing.metering import (
    DISTANCE,
    HOURS,
    SHOWN_PLACES,
    CartMeters,
    Figures,
    Judged,
)
from fleet.models import Reading
from shared.models import Role, Site


def reading_id(fitting_id):
    """Return the id of the reading that is told with a fitting."""
    return uuid5(fitting_id, "reading")


@dataclass(frozen=True)
class MetersRead:
    """What the meters showed at a moment, each in its own unit, and what is doubted of it."""

    hours: Decimal | None
    distance: Decimal | None
    typed: str
    judged: Judged

    def refused(self, measure, *, is_right) -> str:
        """Say what is taken instead of a figure; an unlikely one that ``is_right`` is taken."""
        asked = {} if is_right else self.judged.questions
        words = self.judged.faults.get(measure) or asked.get(measure)
        return _("Accepted: %(what)s") % {"what": words.said(_)} if words else ""

    def values(self, role):
        """Return what a reading of them says."""
        is_mechanic = role == Role.MECHANIC
        return {
            "hours": self.hours,
            "distance": self.distance,
            "typed": self.typed,
            "doubted": self.judged.doubted,
            "hours_rolled": HOURS in self.judged.rolled,
            "distance_rolled": DISTANCE in self.judged.rolled,
            "source": Reading.Source.MECHANIC if is_mechanic else Reading.Source.DESK,
        }


def read_at(cart, hours, distance, at: datetime, *, day_only: bool, but) -> MetersRead | None:
    """Return typed measures as the figures of the cart's meters; None where none was typed.

    They are judged by all readings ``but`` that of this id: their own, where they are sent again.
    """
    if hours is None and distance is None:
        return None
    of_cart = _meters_of(cart, but)
    shown_h = hours and hours.si.quantize(SHOWN_PLACES)
    shown = distance and of_cart.distance_of(distance.si, at).quantize(SHOWN_PLACES)
    typed = "; ".join(one.typed.strip() for one in (hours, distance) if one)
    judged = of_cart.judge(Figures(0, at, day_only, shown_h, shown))
    return MetersRead(shown_h, shown, typed, judged)


def _meters_of(cart, but):
    facts = meter_facts_of([cart.pk])[cart.pk]
    facts.readings = [row for row in facts.readings if row.pk != but]
    sites = Site.objects.in_bulk({change.site_id for change in facts.changes})
    return CartMeters(facts, sites, cart.site)
