"""Meter readings: any number of them, of any age, each judged by its neighbours in time."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import lru_cache
from itertools import groupby, islice
from operator import itemgetter
from typing import NamedTuple
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from django.utils.translation import gettext_lazy

from fleet.importing.columns import reading_columns
from fleet.importing.known import meter_facts_of, reading_ids_of
from fleet.importing.metering import DISTANCE, HOURS, MEASURES, SHOWN_PLACES, CartMeters, Figures
from fleet.importing.numbers import CartNumbers
from fleet.importing.plans import CHECKED_PERCENT, NEW, UNCHANGED, Bringing, Plan
from fleet.importing.saying import plain_number
from fleet.importing.spool import Sorted, Spool
from fleet.kinds import Importer
from fleet.models import Reading
from fleet.sheet_words import gettext_noop as _
from fleet.sheet_words import shown
from fleet.sheets import READING_LIMITS, Fault, Sheet, Words
from shared.clock import noon_of
from shared.dates import shown_day
from shared.filing import like
from shared.models import Site

BATCH_CARTS = 50
BATCH_LINES = 5_000
BATCH_FACTS = 2_000
KEPT_TIMES = 4_096
MOST_FIGURE = 10**8
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND = timedelta(microseconds=1)
LONGEST_TYPED = Reading._meta.get_field("typed").max_length

NOT_LATER = _("a day or moment that has come")
ONE_OF = _("hours, or a distance, or both")
FIGURE = _("a figure from 0 to %(most)d")
SAME_MOMENT = _("one reading of a cart at one time; line %(line)d has another")
RECORDED = _("%(figure)s, as recorded for that time; a wrong one is corrected on the cart's page")
READ = _("%(count)d readings, %(first)s to %(last)s")
TAKEN_BACK = _("Line %(line)d: that reading of cart %(cart)s was taken back, and stays so.")


class ReadingImporter(Importer):
    code = "readings"
    title = gettext_lazy("Meter readings")
    limits = READING_LIMITS

    def columns(self, site):
        return reading_columns(site.units)

    def plan(self, sheet: Sheet, bringing: Bringing) -> Plan:
        return _Planning(sheet, bringing).plan


class _Line(NamedTuple):
    """A row with its cart known, as a spool keeps it; ``key`` is the time that tells it apart.

    ``cart`` is the cart's place in the sheet, ``since_us`` the moment in microseconds since
    EPOCH. Figures are texts of numbers, a distance in metres.
    """

    cart: int
    since_us: int
    line: int
    number: str
    key: str
    day_only: bool
    hours: str | None
    metres: str | None
    typed: tuple[str, str]

    @property
    def at(self) -> datetime:
        return EPOCH + MICROSECOND * self.since_us

    def reading_id(self, cart_id: UUID) -> UUID:
        return uuid5(cart_id, f"reading|{self.key}")


class _Accepted(NamedTuple):
    """A reading to be filed, as a spool keeps it; two measures may have passed their roll point."""

    id: int
    cart: int
    since_us: int
    day_only: bool
    hours: str | None
    distance: str | None
    typed: str
    hours_rolled: bool
    distance_rolled: bool
    doubted: str


class _Time(NamedTuple):
    """When a row was read, as ``_Line`` has it; ``is_to_come`` says that it was not yet."""

    since_us: int
    day: date
    day_only: bool
    key: str
    is_to_come: bool


class _Planning:
    """Rows are kept on disk by cart and time, since each is judged by those before it."""

    def __init__(self, sheet, bringing):
        self.bringing, self.site = bringing, bringing.site
        self.zone, self.today = ZoneInfo(self.site.zone), bringing.today
        self.headings = {column.spec.code: column.heading for column in sheet.columns}
        self.numbers = CartNumbers(self.site)
        self.places: dict[UUID, int] = {}
        # carts are read on one round, so that a sheet names a time many times
        self.time_of = lru_cache(KEPT_TIMES)(self._time_of)
        self.lines, self.accepted = Sorted(), Spool()
        self.plan = Plan(batches=self._batches)
        self.plan.refuse(sheet.faults)
        for row in sheet.rows():
            self._sort_in(row)
        self.cart_ids = list(self.places)
        self._judge_all()

    # a row by itself

    def _sort_in(self, row):
        """Keep a row under its cart."""
        number = " ".join((row["number"] or "").split())
        read_at = row["read_at"]
        # two moments of two zones may be equal, on days that differ
        time = read_at and self.time_of(read_at, getattr(read_at, "tzinfo", None))
        if self.plan.refuse([*row.faults, *self._own_faults(row, time)]):
            return
        cart_id, accepted = self.numbers.cart_on(number, time.day, self.today)
        if accepted:
            self.plan.refuse([row.fault("number", accepted.template, **accepted.values)])
            return
        hours, distance = row[HOURS], row[DISTANCE]
        line = _Line(
            self.places.setdefault(cart_id, len(self.places)),
            time.since_us,
            row.line,
            number,
            time.key,
            time.day_only,
            None if hours is None else str(hours),
            None if distance is None else str(distance.si),
            (row.text(HOURS), row.text(DISTANCE)),
        )
        self.lines.add(tuple(line))

    def _own_faults(self, row, time):
        hours, distance = row[HOURS], row[DISTANCE]
        if not row.faults and hours is None and distance is None:
            yield row.fault(HOURS, ONE_OF)
        for code, value in ((HOURS, hours), (DISTANCE, distance and distance.value)):
            if value is not None and not 0 <= value < MOST_FIGURE:
                yield row.fault(code, FIGURE, most=MOST_FIGURE)
        if time is not None and time.is_to_come:
            yield row.fault("read_at", NOT_LATER)

    def _time_of(self, read_at, zone):
        """Return the time of a moment, or of a day: its noon, or now if that is before."""
        if isinstance(read_at, datetime):
            at = read_at.replace(tzinfo=zone or self.zone).astimezone(UTC)
            to_come = at > self.bringing.at
            return _Time(_us_since(at), read_at.date(), False, at.isoformat(), to_come)
        at = min(noon_of(read_at, self.site.zone), self.bringing.at)
        return _Time(_us_since(at), read_at, True, read_at.isoformat(), read_at > self.today)

    # a row among its neighbours

    def _judge_all(self):
        done = 0
        for some in self._by_carts():
            facts = meter_facts_of(some)
            sites = Site.objects.in_bulk({c.site_id for f in facts.values() for c in f.changes})
            ids = reading_ids_of(some)
            for cart_id, lines in some.items():
                meters = CartMeters(facts[cart_id], sites, self.site)
                self._judge_cart(cart_id, lines, _Recorded(facts[cart_id].readings, ids), meters)
                done += len(lines)
            self.bringing.progress(CHECKED_PERCENT * done // self.lines.count)

    def _by_carts(self):
        """Yield {cart id: its lines by time}, a few carts or many lines at a time."""
        some, held = {}, 0
        for place, rows in groupby(self.lines, key=itemgetter(0)):
            lines = [_Line._make(row) for row in rows]
            some[self.cart_ids[place]] = lines
            held += len(lines)
            if len(some) == BATCH_CARTS or held >= BATCH_LINES:
                yield some
                some, held = {}, 0
        if some:
            yield some

    def _judge_cart(self, cart_id, lines, recorded, meters):
        taken, by_key = [], {}
        for line in lines:
            figures = _figures(line, meters)
            twin = by_key.setdefault(line.key, figures)
            if twin is not figures:
                self._judge_twin(line, figures, twin)
                continue
            reading_id = line.reading_id(cart_id)
            if not self._is_recorded(reading_id, line, figures, recorded):
                taken += self._judge(reading_id, line, figures, meters)
        for one in taken:
            self.accepted.add(tuple(one))
        if taken:
            self.plan.cart_ids.add(cart_id)
            days = [self._shown(_moment_at(one.since_us)) for one in (taken[0], taken[-1])]
            said = {"count": len(taken), "first": days[0], "last": days[1]}
            words = Words(READ, said)
            self.plan.tell(NEW, lines[0].line, lines[0].number, words, rows=len(taken))

    def _shown(self, at):
        return shown_day(self.site.day(at), self.site.date_order)

    def _judge_twin(self, line, figures, twin):
        if _same(figures, twin):
            self.plan.tell(UNCHANGED)
            return
        words = Words(SAME_MOMENT, {"line": twin.line})
        self.plan.refuse([self._fault(line, _first_measure(figures), words)])

    def _is_recorded(self, reading_id, line, figures, recorded):
        """Whether the time has a reading already; another figure for it is a fault."""
        known = recorded.at(reading_id, figures.at)
        if known is None:
            return False
        if known == TAKEN_BACK:
            said = {"line": line.line, "cart": line.number}
            self.plan.remark(Words(TAKEN_BACK, said))
        wrong = [] if known == TAKEN_BACK else list(_other_figures(figures, known))
        self.plan.refuse(self._fault(line, measure, words) for measure, words in wrong)
        if not wrong:
            self.plan.tell(UNCHANGED)
        return True

    def _judge(self, reading_id, line, figures, meters):
        judged = meters.judge(figures)
        if judged.faults or judged.questions:
            self.plan.refuse(self._fault(line, *one) for one in judged.faults.items())
            self.plan.ask(self._fault(line, *one) for one in judged.questions.items())
        return [] if judged.faults else [_accepted(reading_id, line, figures, judged)]

    def _fault(self, line, measure, words):
        heading = self.headings.get(measure, measure)
        return Fault(line.line, heading, shown(line.typed[MEASURES.index(measure)]), words)

    # what is filed

    def _batches(self):
        rows = map(_Accepted._make, self.accepted)
        pattern = Reading(
            site_id=self.site.pk,
            by_id=self.bringing.by.pk,
            written_at=self.bringing.at,
            brought_in=True,
            source=Reading.Source.SHEET.value,
        )
        while some := list(islice(rows, BATCH_FACTS)):
            yield [(self._reading(one, pattern), ()) for one in some]

    def _reading(self, one, pattern):
        return like(
            pattern,
            id=UUID(int=one.id),
            cart_id=self.cart_ids[one.cart],
            done_at=_moment_at(one.since_us),
            day_only=one.day_only,
            hours_shown=_number(one.hours),
            distance_shown=_number(one.distance),
            hours_rolled=one.hours_rolled,
            distance_rolled=one.distance_rolled,
            doubted=one.doubted,
            typed=one.typed,
        )


class _Recorded:
    """The readings of one cart that stand, by id and by moment; ``ids`` are of all readings."""

    def __init__(self, readings, ids):
        self.by_id = {row.pk: row for row in readings}
        self.by_moment = {row.done_at: row for row in readings}
        self.ids = ids

    def at(self, reading_id, at):
        """Return the reading of a time, TAKEN_BACK, or None."""
        found = self.by_id.get(reading_id) or self.by_moment.get(at)
        return found or (TAKEN_BACK if reading_id in self.ids else None)


def _us_since(at):
    return (at - EPOCH) // MICROSECOND


def _moment_at(since_us):
    return EPOCH + MICROSECOND * since_us


def _number(text):
    return None if text is None else Decimal(text)


def _figures(line, meters):
    at = line.at
    distance = line.metres and meters.distance_of(Decimal(line.metres), at)
    return Figures(
        line.line,
        at,
        line.day_only,
        line.hours and Decimal(line.hours).quantize(SHOWN_PLACES),
        distance and distance.quantize(SHOWN_PLACES),
        " | ".join(filter(None, line.typed))[:LONGEST_TYPED],
    )


def _accepted(reading_id, line, figures, judged):
    return _Accepted(
        reading_id.int,
        line.cart,
        line.since_us,
        line.day_only,
        None if figures.hours is None else str(figures.hours),
        None if figures.distance is None else str(figures.distance),
        figures.typed,
        HOURS in judged.rolled,
        DISTANCE in judged.rolled,
        judged.doubted,
    )


def _same(one, other):
    return one.hours == other.hours and one.distance == other.distance


def _first_measure(figures):
    return HOURS if figures.hours is not None else DISTANCE


def _other_figures(figures, known):
    """Yield (measure, words) for each figure that is not the one recorded."""
    for measure in MEASURES:
        value, told = getattr(figures, measure), getattr(known, f"{measure}_shown")
        if value is not None and value != told:
            figure = "–" if told is None else plain_number(told)
            yield measure, Words(RECORDED, {"figure": figure})
