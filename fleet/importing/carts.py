"""The list of carts: new ones join, known ones change, and all meters are read."""

from collections import defaultdict
from decimal import Decimal
from functools import partial
from uuid import uuid5

from django.utils.translation import gettext_lazy

from fleet.actions.meters import fitted, reading
from fleet.actions.register import change_of, joining
from fleet.importing.cart_register import CartRegister
from fleet.importing.cart_rows import SI_PLACES, CartRow
from fleet.importing.columns import cart_columns
from fleet.importing.metering import DISTANCE, HOURS, MEASURES, CartMeters, Figures, own_unit
from fleet.importing.plans import CHANGED, NEW, UNCHANGED, Bringing, Plan, chunks
from fleet.importing.saying import changed, plain_number
from fleet.kinds import Importer
from fleet.models import Cart, Reading, UseClass
from fleet.sheet_words import gettext_noop as _
from fleet.sheets import Sheet, Words
from fleet.standing import facts_of
from shared.clock import noon_of
from shared.dates import shown_day
from shared.models import Entry, Site, new_id
from shared.units import SI_UNITS, convert

BATCH_CARTS = 200
BATCH_FACTS = 1_000
REGISTER, TYRE_SIZE = "register", "tyre size"
TYRE = ("tyre", "tyre_mm")

NEW_CART = _("new cart")
GONE = _("Line %(line)d: cart %(cart)s left the fleet on %(day)s; it is not changed.")
JOINED_STAYS = _("Line %(line)d: cart %(cart)s joined on %(day)s, and that stays.")
KNOWN_BEFORE = _(
    "Line %(line)d: cart %(cart)s was brought in before and carries the number no more; "
    "for another cart give its serial or the day it joined."
)


class CartImporter(Importer):
    code = "carts"
    title = gettext_lazy("Carts")

    def columns(self, site):
        return cart_columns(site.units)

    def plan(self, sheet: Sheet, bringing: Bringing) -> Plan:
        return _Planning(sheet, bringing).plan


class _Planning:
    """Goes through the rows once; what is to be filed gathers in ``facts``."""

    def __init__(self, sheet, bringing):
        self.bringing, self.site = bringing, bringing.site
        self.headings = {column.spec.code: column.heading for column in sheet.columns}
        self.facts = []
        self.plan = Plan(batches=lambda: chunks(self.facts, BATCH_FACTS))
        self.plan.refuse(sheet.faults)
        rows = [CartRow(row, bringing.today) for row in sheet.rows()]
        pairs = CartRegister(self.site).match(rows)
        self.known_ids = _known(self._joined_id(row) for row, cart in pairs if cart is None)
        for some in chunks(pairs, BATCH_CARTS):
            self._take(some)

    def _take(self, pairs):
        known = [cart for _row, cart in pairs if cart]
        facts = facts_of([cart.pk for cart in known])
        sites = Site.objects.in_bulk({c.site_id for f in facts.values() for c in f.changes})
        told_before = _told_before(known)
        for row, cart in pairs:
            meters = CartMeters(facts[cart.pk] if cart else None, sites, self.site)
            if cart is None:
                self._join(row, meters)
            elif cart.condition == Cart.Condition.LEFT:
                self._leave_out(row, GONE, self._day(cart.left_on))
            else:
                self._change(row, cart, meters, told_before[cart.pk])

    def _leave_out(self, row, template, day=""):
        said = {"line": row.row.line, "cart": row.number, "day": day}
        self.plan.refuse(row.faults)
        self.plan.remark(Words(template, said))
        self.plan.tell(UNCHANGED)

    def _day(self, day):
        return shown_day(day, self.site.date_order)

    # of a new cart

    def _cart_id(self, row):
        joined = row.joined_on.isoformat() if row.joined_on else ""
        return uuid5(self.site.pk, f"cart|{row.number}|{row.serial}|{joined}")

    def _joined_id(self, row):
        return uuid5(self._cart_id(row), "joined")

    def _join(self, row, meters):
        if self._joined_id(row) in self.known_ids:
            self._leave_out(row, KNOWN_BEFORE)
            return
        cart = Cart(id=self._cart_id(row), site=self.site, **_columns(row.values))
        facts = [self._joining(row, cart.pk)]
        facts += self._meter_facts(row, cart, meters, set(), partial(uuid5, cart.pk))
        self._file(NEW, row, cart, facts, [Words(NEW_CART)])

    def _joining(self, row, cart_id):
        when = {}
        if row.joined_on and row.joined_on < self.bringing.today:
            when = {"done_at": noon_of(row.joined_on, self.site.zone), "day_only": True}
        return joining(
            self.site,
            {"use_class": UseClass.RENTAL.value, **row.values},
            cart_id=cart_id,
            id=self._joined_id(row),
            **self._told(),
            **when,
        )

    def _told(self):
        return {"by": self.bringing.by, "brought_in": True}

    # of a known cart

    def _change(self, row, cart, meters, told_before):
        differing = _differing(row.values, cart)
        words = [
            changed(self._heading(name), _plain(getattr(cart, name)), value)
            for name, value in differing.items()
            if name != "tyre_mm" or "tyre" not in differing
        ]
        facts = [self._changing(cart, what, value) for what, value in _split(differing, cart)]
        facts += self._meter_facts(row, cart, meters, told_before, lambda name: new_id())
        words += self._read_words(facts)
        if row.joined_on and row.joined_on != cart.joined_on:
            said = {"line": row.row.line, "cart": cart.number, "day": self._day(cart.joined_on)}
            self.plan.remark(Words(JOINED_STAYS, said))
        self._file(CHANGED if facts else UNCHANGED, row, cart, facts, words)

    def _changing(self, cart, what, value):
        return change_of(cart.pk, self.site.pk, what, value, id=new_id(), **self._told())

    def _heading(self, name):
        return self.headings.get({"tyre_mm": "tyre_size"}.get(name, name), name)

    def _read_words(self, facts):
        for fact in facts:
            if isinstance(fact, Reading):
                for measure in MEASURES:
                    value = getattr(fact, f"{measure}_shown")
                    if value is not None:
                        yield changed(self._heading(measure), "", plain_number(value))

    # of both

    def _meter_facts(self, row, cart, meters, told_before, id_of):
        """Return the facts of what the sheet says that the meters show now."""
        at = self.bringing.at
        unit = self._distance_unit(row, meters)
        distance = row.distance and _figure(convert(row.distance.si, SI_UNITS[DISTANCE], unit))
        figures = Figures(
            row.row.line,
            at,
            False,
            _unless_told(HOURS, row.hours, told_before),
            _unless_told(DISTANCE, distance, told_before),
        )
        if figures.hours is None and figures.distance is None:
            return []
        judged = self._doubt(row, meters, figures)
        shown = {"hours": figures.hours, "distance": figures.distance}
        typed = " | ".join(filter(None, (row.row.text("hours"), row.row.text("distance"))))
        read = reading(
            cart,
            **shown,
            typed=typed[: Reading._meta.get_field("typed").max_length],
            source=Reading.Source.SHEET,
            doubted=judged.doubted,
            hours_rolled=HOURS in judged.rolled,
            distance_rolled=DISTANCE in judged.rolled,
            id=id_of("reading"),
            **self._told(),
        )
        return [*self._meter_fitted(row, cart, meters, unit, distance, id_of), read]

    def _doubt(self, row, meters, figures):
        judged = meters.judge(figures)
        for measure, words in judged.faults.items():
            row.refuse(measure, words.template, **words.values)
        self.plan.ask(
            row.row.fault(measure, words.template, **words.values)
            for measure, words in judged.questions.items()
        )
        return judged

    def _distance_unit(self, row, meters):
        """Return the unit of the distance meter: as recorded, else as the sheet has it."""
        if meters.has_distance_meter or row.distance is None or row.distance.unit == "m":
            return meters.distance_unit(self.bringing.at)
        return row.distance.unit

    def _meter_fitted(self, row, cart, meters, unit, distance, id_of):
        """Return the meter's own fact, where the site's usual one would be wrong."""
        is_usual = unit == own_unit(DISTANCE, self.site) and not row.wheel_driven
        if distance is None or meters.has_distance_meter or is_usual:
            return []
        told = fitted(
            cart,
            DISTANCE,
            distance,
            unit=unit,
            # the same meter goes on: what it ran before today counts
            old_final=distance,
            wheel_driven=row.wheel_driven,
            set_for_mm=cart.tyre_mm if row.wheel_driven else None,
            id=id_of("distance meter"),
            **self._told(),
        )
        return [told]

    def _file(self, state, row, cart, facts, words):
        if self.plan.refuse(row.faults):
            return
        self.plan.tell(state, row.row.line, cart.number or row.number, *words)
        if facts:
            self.facts += [(fact, ()) for fact in facts]
            self.plan.cart_ids.add(cart.pk)


def _known(ids):
    """Return those of the ids that the journal has."""
    ids = list(ids)
    return {
        fact_id
        for some in chunks(ids, BATCH_FACTS // 2)
        for fact_id in Entry.objects.filter(fact_id__in=some).values_list("fact_id", flat=True)
    }


def _columns(values):
    """Return the columns that meters depend on, as Cart holds them."""
    size = values.get("tyre_mm")
    return {"number": values.get("number", ""), "tyre_mm": None if size is None else Decimal(size)}


def _told_before(carts):
    """Return {cart id: figures that a sheet told of it before}."""
    told = defaultdict(set)
    rows = Reading.objects.filter(
        cart_id__in=[cart.pk for cart in carts], source=Reading.Source.SHEET
    )
    for cart_id, hours, distance in rows.values_list("cart_id", "hours_shown", "distance_shown"):
        told[cart_id] |= {(HOURS, hours), (DISTANCE, distance)}
    return told


def _unless_told(measure, value, told_before):
    """Return a figure; None for one that a sheet told before."""
    figure = _figure(value)
    return None if (measure, figure) in told_before else figure


def _figure(value):
    """Return a figure to the places of its column."""
    return value and value.quantize(SI_PLACES)


def _differing(values, cart):
    return {name: value for name, value in values.items() if value != _plain(getattr(cart, name))}


def _plain(value):
    """Return a column's value as plain JSON, as a change of the register holds it."""
    if isinstance(value, Decimal):
        return format(value, "f")
    return value.isoformat() if hasattr(value, "isoformat") else value


def _split(differing, cart):
    """Yield (what, value) for each change: another tyre height starts clocks of its own."""
    tyre = {name: value for name, value in differing.items() if name in TYRE}
    is_other_size = cart.tyre_mm is not None and "tyre_mm" in differing
    if is_other_size:
        yield TYRE_SIZE, {"tyre": cart.tyre, **tyre}
    rest = {
        name: value for name, value in differing.items() if not (is_other_size and name in TYRE)
    }
    if rest:
        yield REGISTER, rest
