"""Camber and toe of the demo's carts: their true axles, and what is known of them."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from alignment.learnt import seen_on
from alignment.settled import NO_SOURCE, USUAL, Use
from alignment.specs import figures_at
from deploy.demo.answers import Answer
from deploy.demo.axles import axle_of
from deploy.demo.carts import BIG_TYRE_MM, STANDARD_TYRE_MM
from deploy.demo.fittings import tyres_on
from deploy.demo.sheets import Known, Mechanic, SheetSaid, Turned
from deploy.demo.tapes import Tools
from fleet.kinds import register
from shared.units import convert

DIAMETERS = {
    "inch": {STANDARD_TYRE_MM: "18 in", BIG_TYRE_MM: "22 in"},
    "metric": {STANDARD_TYRE_MM: "457 mm", BIG_TYRE_MM: "559 mm"},
}


@dataclass(eq=False)
class SheetAnswer(Answer):
    """A sheet that tells what its turns did to those who come after it."""

    keep: object = None

    def facts(self, round_fact, form, fact_fields):
        recorded = super().facts(round_fact, form, fact_fields)
        for fact, lines in recorded:
            self.keep(fact, lines)
        return recorded


@dataclass
class Alignments:
    """True axles by cart and fitting, blows to come, figures by kit, and the last meter days."""

    axles: dict = field(default_factory=dict)
    blows: dict = field(default_factory=dict)
    figures: dict = field(default_factory=dict)
    turned: Turned = field(default_factory=Turned)
    read_on: dict = field(default_factory=dict)

    def saw_meters(self, cart, day: date):
        self.read_on[cart.cart_id] = max(day, self.read_on.get(cart.cart_id, day))

    def strike(self, cart, blow):
        self.blows.setdefault(cart.cart_id, []).append(blow)

    def sheet(self, cart, day: date, tools=None, *, turns=True, **said) -> SheetAnswer:
        """Return a sheet of that day; ``turns``: what is off is put right."""

        def work(visit):
            return Mechanic(
                self._begun(visit, cart, day, tools, **said), self.axle(cart, day), turns
            )

        return self._answer(cart, lambda visit: work(visit).work())

    def typed(self, cart, day: date, camber: str, toe: tuple[str, str]) -> SheetAnswer:
        """Return a sheet that says these figures, whatever the axle's are."""
        return self._answer(
            cart, lambda visit: self._begun(visit, cart, day).type_usual(camber, toe)
        )

    def _answer(self, cart, form):
        def keep(fact, lines):
            key = cart.place.values["slug"], cart.kit_code
            seen = seen_on(fact, lines, self.figures[key].steering)
            self.turned.keep(*key, cart.cart_id, seen)

        return SheetAnswer(register.parts["camber-toe"], form, keep=keep)

    def _begun(self, visit, cart, day, tools=None, **said):
        units = cart.place.values["units"]
        diameter = DIAMETERS[units][tyres_on(cart, day)[1]]
        known = self.known(visit, cart)
        return SheetSaid(visit, known, tools or usual_tools(cart), diameter, **said)

    def axle(self, cart, day: date):
        """Return a cart's axle as it is on a day."""
        key = cart.cart_id, cart.fitted_day
        if key not in self.axles:
            fitted, hours = cart.fitted_day, cart.life_hours(cart.fitted_day)
            self.axles[key] = axle_of(cart.cart_id, cart.kit_code, fitted, hours)
            self.axles[key].blows = self.blows.get(cart.cart_id, [])
        self.axles[key].live(day, cart.life_hours(day))
        return self.axles[key]

    def known(self, visit, cart) -> Known:
        slug = cart.place.values["slug"]
        key = slug, cart.kit_code
        if key not in self.figures:
            self.figures[key] = figures_at(visit.site, cart.kit_code, visit.opening)
        return Known(self.figures[key], self.use(cart), self.turned.learnt(*key, cart.cart_id))

    def use(self, cart) -> Use | None:
        """Return the use since the fitting, as alignment.settled reads it off the meters."""
        last = self.read_on.get(cart.cart_id)
        if last is None or last < cart.fitted_day:
            return None
        hours, km = _hours(cart, last), _km(cart, last)
        settled = hours >= USUAL.hours or km * 1000 >= USUAL.metres
        return Use(hours, km, settled, is_estimated=False, enough=USUAL, source=NO_SOURCE)


def usual_tools(cart) -> Tools:
    """Return what a cart is measured with: a gauge or a square, a tape in 32nds or in mm."""
    if cart.place.values["units"] == "metric":
        return Tools("metric", "1 mm")
    return Tools(by_square=int(cart.number) % 2 == 0)


def _hours(cart, last):
    shown = cart.hours_shown(last) - cart.hours_shown(cart.fitted_day)
    swapped = cart.swapped_day
    was_swapped = swapped is not None and cart.fitted_day <= swapped < last
    return shown + cart.hours_shown(swapped) if was_swapped else shown


def _km(cart, last):
    """Return true km: what the meter shows is less than was run on the bigger tyres."""
    big_from = max(cart.fitted_day, min(cart.big_tyres_day, last))
    small, big = cart.distance_shown(big_from), cart.distance_shown(last)
    shown = small - cart.distance_shown(cart.fitted_day)
    shown += (big - small) * BIG_TYRE_MM / STANDARD_TYRE_MM
    unit = "mi" if cart.place.values["units"] == "inch" else "km"
    return convert(Decimal(shown), unit, "km")
