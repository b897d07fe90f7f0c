"""Meter readings: any number of them, of any age, each judged by its neighbours in time."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from django.utils.translation import gettext_lazy

from fleet.importing.columns import reading_columns
from fleet.importing.known import meter_facts_of, reading_ids_of
from fleet.importing.metering import DISTANCE, HOURS, MEASURES, SHOWN_PLACES, CartMeters, Figures
from fleet.importing.numbers import CartNumbers
from fleet.importing.plans import CHECKED_PERCENT, NEW, UNCHANGED, Bringing, Plan, chunks
from fleet.importing.saying import plain_number
from fleet.kinds import Importer
from fleet.models import Reading
from fleet.sheet_words import gettext_noop as _
from fleet.sheet_words import shown
from fleet.sheets import READING_LIMITS, Fault, Sheet, Words
from shared.clock import noon_of
from shared.dates import shown_day
from shared.models import Site
from shared.units import Measure

BATCH_CARTS = 50
BATCH_FACTS = 1_000
MOST_FIGURE = 10**8
# each row is held as figures until all are judged: about 2 KB, measured
MOST_READINGS = 300_000
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
    limits = replace(READING_LIMITS, rows=MOST_READINGS)

    def columns(self, site):
        return reading_columns(site.units)

    def plan(self, sheet: Sheet, bringing: Bringing) -> Plan:
        return _Planning(sheet, bringing).plan


@dataclass(frozen=True, slots=True)
class _Line:
    """A row with its cart known; ``key`` is the time that it is told apart by."""

    at: datetime
    line: int
    number: str
    key: str
    day_only: bool
    hours: Decimal | None
    distance: Measure | None
    typed: tuple[str, str]

    def reading_id(self, cart_id: UUID) -> UUID:
        return uuid5(cart_id, f"reading|{self.key}")


@dataclass(frozen=True, slots=True)
class _Accepted:
    """A reading to be filed; ``rolled`` are the measures that passed their roll point."""

    id: UUID
    cart_id: UUID
    figures: Figures
    rolled: tuple[str, ...]
    doubted: str


class _Planning:
    """Rows are kept as plain figures by cart, since each is judged by those before it."""

    def __init__(self, sheet, bringing):
        self.bringing, self.site = bringing, bringing.site
        self.zone = ZoneInfo(self.site.zone)
        self.headings = {column.spec.code: column.heading for column in sheet.columns}
        self.numbers = CartNumbers(self.site)
        self.lines: Mapping[UUID, list[_Line]] = defaultdict(list)
        self.accepted: list[_Accepted] = []
        self.plan = Plan(batches=self._batches)
        self.plan.refuse(sheet.faults)
        for row in sheet.rows():
            self._sort_in(row)
        self._judge_all()

    # a row by itself

    def _sort_in(self, row):
        """Keep a row under its cart."""
        number = " ".join((row["number"] or "").split())
        read_at = row["read_at"]
        if self.plan.refuse([*row.faults, *self._own_faults(row)]):
            return
        day = read_at.date() if isinstance(read_at, datetime) else read_at
        cart_id, accepted = self.numbers.cart_on(number, day, self.bringing.today)
        if accepted:
            self.plan.refuse([row.fault("number", accepted.template, **accepted.values)])
            return
        at, day_only = self._moment(read_at)
        self.lines[cart_id].append(
            _Line(
                at,
                row.line,
                number,
                day.isoformat() if day_only else at.isoformat(),
                day_only,
                row[HOURS],
                row[DISTANCE],
                (row.text(HOURS), row.text(DISTANCE)),
            )
        )

    def _own_faults(self, row):
        hours, distance = row[HOURS], row[DISTANCE]
        if not row.faults and hours is None and distance is None:
            yield row.fault(HOURS, ONE_OF)
        for code, value in ((HOURS, hours), (DISTANCE, distance and distance.value)):
            if value is not None and not 0 <= value < MOST_FIGURE:
                yield row.fault(code, FIGURE, most=MOST_FIGURE)
        if row["read_at"] is not None and self._is_to_come(row["read_at"]):
            yield row.fault("read_at", NOT_LATER)

    def _is_to_come(self, read_at):
        if isinstance(read_at, datetime):
            return self._moment(read_at)[0] > self.bringing.at
        return read_at > self.bringing.today

    def _moment(self, read_at):
        """Return (moment, is only its day known): then noon, or now if that is before."""
        if isinstance(read_at, datetime):
            local = read_at if read_at.tzinfo else read_at.replace(tzinfo=self.zone)
            return local.astimezone(UTC), False
        return min(noon_of(read_at, self.site.zone), self.bringing.at), True

    # a row among its neighbours

    def _judge_all(self):
        done, every = 0, sum(map(len, self.lines.values()))
        for some in chunks(list(self.lines), BATCH_CARTS):
            facts = meter_facts_of(some)
            sites = Site.objects.in_bulk({c.site_id for f in facts.values() for c in f.changes})
            ids = reading_ids_of(some)
            for cart_id in some:
                lines = self.lines.pop(cart_id)
                meters = CartMeters(facts[cart_id], sites, self.site)
                self._judge_cart(cart_id, lines, _Recorded(facts[cart_id].readings, ids), meters)
                done += len(lines)
            self.bringing.progress(CHECKED_PERCENT * done // every)

    def _judge_cart(self, cart_id, lines, recorded, meters):
        lines.sort(key=lambda line: (line.at, line.line))
        taken, by_key = [], {}
        for line in lines:
            figures = _figures(line, meters)
            twin = by_key.setdefault(line.key, figures)
            if twin is not figures:
                self._judge_twin(line, figures, twin)
            elif not self._is_recorded(cart_id, line, figures, recorded):
                taken += self._judge(cart_id, line, figures, meters)
        self.accepted += taken
        if taken:
            self.plan.cart_ids.add(cart_id)
            days = [self._shown(one.figures.at) for one in (taken[0], taken[-1])]
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

    def _is_recorded(self, cart_id, line, figures, recorded):
        """Whether the time has a reading already; another figure for it is a fault."""
        known = recorded.at(line.reading_id(cart_id), line.at)
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

    def _judge(self, cart_id, line, figures, meters):
        judged = meters.judge(figures)
        self.plan.refuse(self._fault(line, *one) for one in judged.faults.items())
        self.plan.ask(self._fault(line, *one) for one in judged.questions.items())
        if judged.faults:
            return []
        reading_id = line.reading_id(cart_id)
        return [_Accepted(reading_id, cart_id, figures, judged.rolled, judged.doubted)]

    def _fault(self, line, measure, words):
        heading = self.headings.get(measure, measure)
        return Fault(line.line, heading, shown(line.typed[MEASURES.index(measure)]), words)

    # what is filed

    def _batches(self):
        for some in chunks(self.accepted, BATCH_FACTS):
            yield [(self._reading(one), ()) for one in some]

    def _reading(self, one):
        figures = one.figures
        return Reading(
            id=one.id,
            site_id=self.site.pk,
            cart_id=one.cart_id,
            by=self.bringing.by,
            done_at=figures.at,
            day_only=figures.day_only,
            written_at=self.bringing.at,
            brought_in=True,
            hours_shown=figures.hours,
            distance_shown=figures.distance,
            hours_rolled=HOURS in one.rolled,
            distance_rolled=DISTANCE in one.rolled,
            doubted=one.doubted,
            typed=figures.typed,
            source=Reading.Source.SHEET,
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


def _figures(line, meters):
    distance = line.distance and meters.distance_of(line.distance, line.at)
    return Figures(
        line.line,
        line.at,
        line.day_only,
        line.hours and line.hours.quantize(SHOWN_PLACES),
        distance and distance.quantize(SHOWN_PLACES),
        " | ".join(filter(None, line.typed))[:LONGEST_TYPED],
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
