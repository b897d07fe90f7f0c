"""The work of a site's carts, gravest first: which section, in which order, counted how."""

from datetime import date, timedelta
from decimal import Decimal
from typing import NamedTuple
from uuid import UUID

from django.db.models import Case, Count, DateField, IntegerField, Q, Value, When
from django.db.models.functions import Coalesce
from django.utils.translation import gettext_lazy as _

from fleet.due import AHEAD, DUE, LATE, OPEN, STOPPED, state_on
from fleet.models import Cart, Recheck

STOPPED_IN_USE, STOPPED_AT_REST = "stopped-in-use", "stopped-at-rest"
OPENING_WEEK, OPENING_MONTH, LATER = "opening-7", "opening-28", "later"
OPEN_LONG = "open-long"
WEEK, MONTH = timedelta(days=7), timedelta(days=28)
NO_DAY = date.max
# rows are counted, not ids: an index holds all that the counts ask of them
ROW = Value(1)
TITLES = {
    STOPPED_IN_USE: _("Stopped and in use"),
    STOPPED_AT_REST: _("Stopped, not in use"),
    LATE: _("Late"),
    DUE: _("Due"),
    OPEN: _("Open"),
    OPENING_WEEK: _("Opening in 7 days"),
    OPENING_MONTH: _("Opening in 28 days"),
    OPEN_LONG: _("Open, and due after 28 days"),
}
RANKS = {section: rank for rank, section in enumerate(TITLES, start=1)}
SECTIONS = {rank: section for section, rank in RANKS.items()}
STATE_WORDS = {
    STOPPED: _("stopped"),
    LATE: _("late"),
    DUE: _("due"),
    OPEN: _("open"),
    AHEAD: _("ahead"),
}
OF_CART = (
    "number",
    "bay",
    "area",
    "condition",
    "is_tagged",
    "is_unproven",
    "hours_shown",
    "hours_life",
    "distance_shown",
    "distance_unit",
    "metres_life",
    "metres_per_shown",
)


class Work(NamedTuple):
    """One active recheck with what the board says of its cart."""

    id: UUID
    cart_id: UUID
    rule_code: str
    kind_code: str
    subject: str
    anchor_id: UUID
    minutes: int
    opens_on: date | None
    due_on: date | None
    late_on: date | None
    stops_on: date | None
    governs: str
    due_hours: Decimal | None
    due_metres: Decimal | None
    is_forecast: bool
    is_estimated: bool
    earliest_on: date | None
    latest_on: date | None
    number: str
    bay: str
    area: str
    condition: str
    is_tagged: bool
    is_unproven: bool
    hours_shown: Decimal | None
    hours_life: Decimal | None
    distance_shown: Decimal | None
    distance_unit: str
    metres_life: Decimal | None
    metres_per_shown: Decimal | None

    @classmethod
    def of(cls, recheck, cart):
        """Return the work of rows that are not read from the board, such as unsaved ones."""
        values = {name: getattr(cart, name) for name in OF_CART}
        own = {name: getattr(recheck, name) for name in cls._fields if name not in OF_CART}
        return cls(**own, **values)

    @property
    def by_day(self):
        return self.due_on or NO_DAY

    @property
    def hours_at_due(self):
        """What the hour meter shows when it falls due, None where that is not known."""
        if None in (self.due_hours, self.hours_life):
            return None
        return self.hours_shown + self.due_hours - self.hours_life

    @property
    def distance_at_due(self):
        """What the distance meter shows when it falls due, in its own unit."""
        if None in (self.due_metres, self.metres_life):
            return None
        return self.distance_shown + (self.due_metres - self.metres_life) / self.metres_per_shown


COLUMNS = [f"cart__{name}" if name in OF_CART else name for name in Work._fields]


class Place(NamedTuple):
    """Where a row stands in the board's order; a page begins after one."""

    rank: int
    by_day: date
    id: UUID

    def __str__(self):
        return f"{self.rank}.{self.by_day}.{self.id}"

    @classmethod
    def read(cls, text):
        """Return the place that a page's address names, None for none or a spoilt one."""
        try:
            rank, day, key = text.split(".")
            return cls(int(rank), date.fromisoformat(day), UUID(key))
        except ValueError:
            return None


def section_of(work, today):
    """Return the board's section of a piece of work on a day; LATER past its horizon."""
    return section_at(work, work, today)


def section_at(recheck, cart, today):
    """Return the board's section of a recheck of a cart, each as a row of its own."""
    state = state_on(recheck, today)
    if state == STOPPED:
        out_there = cart.condition == Cart.Condition.IN_USE and not cart.is_tagged
        return STOPPED_IN_USE if out_there else STOPPED_AT_REST
    if state == OPEN:
        return OPEN_LONG if (recheck.due_on or NO_DAY) > today + MONTH else OPEN
    if state != AHEAD:
        return state
    if recheck.opens_on is None or recheck.opens_on > today + MONTH:
        return LATER
    return OPENING_WEEK if recheck.opens_on <= today + WEEK else OPENING_MONTH


def place_of(work, today):
    return place_in(section_of(work, today), work)


def place_in(section, recheck):
    return Place(RANKS[section], recheck.due_on or NO_DAY, recheck.id)


def work_of(viewer, site, today):
    """Return the rechecks that a site's board shows on a day, in its order."""
    return in_order(Recheck.objects.visible_to(viewer), site, today)


def in_order(rechecks, site, today):
    # the carts by their site too: else a plan may read every cart there is
    shown = rechecks.opening_by(today + MONTH).filter(site=site, cart__site=site)
    by_day = Coalesce("due_on", Value(NO_DAY), output_field=DateField())
    shown = shown.annotate(by_day=by_day).annotate(rank=_rank(today))
    return shown.order_by("rank", "by_day", "id")


def _rank(today):
    out_there = Q(cart__condition=Cart.Condition.IN_USE, cart__is_tagged=False)
    whens = [
        When(Q(stops_on__lte=today) & out_there, then=RANKS[STOPPED_IN_USE]),
        When(stops_on__lte=today, then=RANKS[STOPPED_AT_REST]),
        When(late_on__lte=today, then=RANKS[LATE]),
        When(due_on__lte=today, then=RANKS[DUE]),
        When(opens_on__lte=today, by_day__gt=today + MONTH, then=RANKS[OPEN_LONG]),
        When(opens_on__lte=today, then=RANKS[OPEN]),
        When(opens_on__lte=today + WEEK, then=RANKS[OPENING_WEEK]),
    ]
    return Case(*whens, default=RANKS[OPENING_MONTH], output_field=IntegerField())


def after(rechecks, place):
    """Return the rows that follow a place in the board's order."""
    if place is None:
        return rechecks
    later = Q(by_day__gt=place.by_day) | Q(by_day=place.by_day, id__gt=place.id)
    return rechecks.filter(Q(rank__gt=place.rank) | Q(later, rank=place.rank))


def first_rows(rechecks, place, count):
    """Return some rows that follow a place: ranked by what an index holds, then read whole."""
    ids = after(rechecks, place).values("pk")[:count]
    return rechecks.filter(pk__in=ids)


def in_sections(rechecks, names):
    return rechecks.filter(rank__in=[RANKS[name] for name in names])


def rows_of(rechecks):
    """Yield (section, Work) of rechecks that work_of returned, with one query."""
    for rank, *values in rechecks.values_list("rank", *COLUMNS):
        yield SECTIONS[rank], Work._make(values)


def counts_of(viewer, site, today):
    """Return {section: how many rechecks}, from the dates alone.

    One aggregate over what opens by the horizon, which an index holds whole; the stopped
    ones, few, are asked once more for whether their carts are in use.
    """
    shown = Recheck.objects.visible_to(viewer).opening_by(today + MONTH).filter(site=site)
    counted = shown.aggregate(
        stopped=Count(ROW, filter=Q(stops_on__lte=today)),
        late=Count(
            ROW, filter=Q(late_on__lte=today) & ~Q(stops_on__lte=today, stops_on__isnull=False)
        ),
        reached=Count(ROW, filter=_reached(today)),
        begun=Count(ROW, filter=_reached(today) | Q(opens_on__lte=today)),
        long=Count(ROW, filter=_open_long(today)),
        week=Count(ROW, filter=_reached(today) | Q(opens_on__lte=today + WEEK)),
        all=Count("*"),
    )
    stopped = shown.filter(stops_on__lte=today, cart__site=site)
    in_use = stopped.filter(cart__condition=Cart.Condition.IN_USE, cart__is_tagged=False).count()
    return {
        STOPPED_IN_USE: in_use,
        STOPPED_AT_REST: counted["stopped"] - in_use,
        LATE: counted["late"],
        DUE: counted["reached"] - counted["late"] - counted["stopped"],
        OPEN: counted["begun"] - counted["reached"] - counted["long"],
        OPENING_WEEK: counted["week"] - counted["begun"],
        OPENING_MONTH: counted["all"] - counted["week"],
        OPEN_LONG: counted["long"],
    }


def _open_long(today):
    """Open with long to go, or with no day known that it falls due on."""
    far = Q(due_on__gt=today + MONTH) | Q(due_on=None)
    early = Q(late_on=None) | Q(late_on__gt=today)
    return far & early & (Q(stops_on=None) | Q(stops_on__gt=today)) & Q(opens_on__lte=today)


def _reached(today):
    return Q(due_on__lte=today) | Q(late_on__lte=today) | Q(stops_on__lte=today)
