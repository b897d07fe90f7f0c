"""Figures from a sheet judged against what a cart's meters showed before and after."""

from bisect import bisect_right
from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Decimal
from typing import NamedTuple

from fleet.importing.saying import plain_number
from fleet.meters import LIFE_UNITS_IN, points_of
from fleet.reading_doubts import GRACE_HOURS, Doubt, doubt_between, doubt_of
from fleet.sheet_words import gettext_noop as _
from fleet.sheets import Words
from fleet.usage import NO_RUN, LifePoint
from shared.dates import shown_day
from shared.units import SI_UNITS, UNITS_OF, convert

HOURS, DISTANCE = "hours", "distance"
MEASURES = (HOURS, DISTANCE)
DAY_GRACE_HOURS = Decimal(24)
SHOWN_PLACES = Decimal("0.001")
FIRST = datetime.min.replace(tzinfo=UTC)

AT_LEAST = _("at least %(figure)s, shown on %(day)s; a meter that was changed is recorded first")
AT_MOST = _("at most %(figure)s, shown on %(day)s")
TOO_FAST = _("what can be run since %(figure)s on %(day)s, at most 24 h a day and 25 mph")
TOO_SLOW = _("what can be run until %(figure)s on %(day)s, at most 24 h a day and 25 mph")
MUCH_SINCE = _("likely less than that since %(figure)s on %(day)s; or accept it as right")
MUCH_UNTIL = _("likely less than that until %(figure)s on %(day)s; or accept it as right")
MAYBE_ROLLED = _(
    "at least %(figure)s, shown on %(day)s; or accept that the meter rolled over since"
)


class Figures(NamedTuple):
    """What a row says that a cart's meters showed, each in its meter's own unit."""

    line: int
    at: datetime
    day_only: bool
    hours: Decimal | None
    distance: Decimal | None
    typed: str = ""


@dataclass
class Dial:
    """One meter of a cart. Figures are judged in order of time, each by those before."""

    measure: str
    points: list[LifePoint]
    units: list[tuple[datetime, str]]
    rolls: list[tuple[datetime, Decimal]]
    accepted: LifePoint | None = None
    previous: LifePoint | None = None

    def around(self, at: datetime) -> tuple[LifePoint | None, LifePoint | None]:
        """Return the true points next to a moment, or to what was accepted before it."""
        place = bisect_right(self.points, at, key=_moment)
        before = self.points[place - 1] if place else None
        if self.accepted and (before is None or self.accepted.at >= before.at):
            before = self.accepted
        return before, self.points[place] if place < len(self.points) else None

    def unit_at(self, at: datetime) -> str:
        if len(self.units) == 1:
            return self.units[0][1]
        return [unit for since, unit in self.units if since <= at][-1]

    def doubt(self, value: Decimal, at: datetime, beside, hours_run, grace) -> Doubt | None:
        """Return what is doubted of a figure; ``beside`` are the points around its moment."""
        return doubt_between(
            *beside,
            at,
            value,
            measure=self.measure,
            rolls_at=self._rolls_at(at) if self.rolls else None,
            hours_run=hours_run,
            grace_hours=grace,
        )

    def accept(self, value: Decimal, at: datetime, before, *, rolled: bool) -> None:
        """Judge later figures by this one, which ``before`` came before."""
        run = value - before.shown if before else value
        if rolled:
            run += self._rolls_at(at)
        self.previous = before
        self.accepted = LifePoint(at, value, (before.life if before else NO_RUN) + run, False)

    def _rolls_at(self, at: datetime) -> Decimal | None:
        rolls = [rolls_at for since, rolls_at in self.rolls if since <= at]
        return rolls[-1] if rolls else None


def _moment(point: LifePoint) -> datetime:
    return point.at


@dataclass(slots=True)
class Judged:
    """What is wrong (``faults``) or hardly likely (``questions``) in figures, by measure."""

    faults: dict[str, Words] = field(default_factory=dict)
    questions: dict[str, Words] = field(default_factory=dict)
    rolled: tuple[str, ...] = ()

    @property
    def doubted(self) -> str:
        return Doubt.QUESTIONED.value if self.questions else ""


class CartMeters:
    """The two meters of a cart, as its standing facts have them."""

    def __init__(self, facts, sites, site):
        self.site = site
        points = points_of(facts, sites) if facts else ((), ())
        self.dials = {
            measure: _dial(measure, points[place], facts, site)
            for place, measure in enumerate(MEASURES)
        }

    @property
    def has_distance_meter(self) -> bool:
        """Whether anything is recorded on a distance meter."""
        dial = self.dials[DISTANCE]
        return bool(dial.points) or len(dial.units) > 1

    def distance_unit(self, at) -> str:
        return self.dials[DISTANCE].unit_at(at)

    def distance_of(self, metres, at) -> Decimal:
        """Return a typed distance as the figure of the meter then in place."""
        return convert(metres, SI_UNITS[DISTANCE], self.distance_unit(at))

    def judge(self, figures: Figures) -> Judged:
        """Judge a row's figures; later ones are judged by those that no fault is found in."""
        judged = Judged()
        grace = DAY_GRACE_HOURS if figures.day_only else GRACE_HOURS
        for measure in MEASURES:
            shown = getattr(figures, measure)
            if shown is None:
                continue
            dial = self.dials[measure]
            value = shown * LIFE_UNITS_IN[dial.unit_at(figures.at)]
            beside = dial.around(figures.at)
            hours_run = self._hours_run(figures.at, beside[0]) if measure == DISTANCE else None
            doubt = dial.doubt(value, figures.at, beside, hours_run, grace)
            if doubt is not None:
                self._put(judged, measure, doubt, value, figures.at)
            if measure not in judged.faults:
                rolled = measure in judged.rolled
                dial.accept(value, figures.at, beside[0], rolled=rolled)
        return judged

    def _hours_run(self, at, before):
        """Return the hours run since the distance was last read, if hours were read with it."""
        hours = self.dials[HOURS]
        if before is None or not hours.accepted or hours.accepted.at != at:
            return None
        if hours.previous is None or hours.previous.at != before.at:
            return None
        return max(NO_RUN, hours.accepted.life - hours.previous.life)

    def _put(self, judged, measure, doubt, value, at):
        dial = self.dials[measure]
        before, after = dial.around(at)
        is_since = before is not None and (after is None or self._is_since(dial, doubt, value, at))
        point = before if is_since else after
        unit = dial.unit_at(point.at)
        figure = (
            f"{plain_number((point.shown / LIFE_UNITS_IN[unit]).quantize(SHOWN_PLACES))} {unit}"
        )
        day = shown_day(self.site.day(point.at), self.site.date_order)
        words = Words(_TEMPLATES[doubt][not is_since], {"figure": figure, "day": day})
        kept = judged.questions if doubt in ASKED else judged.faults
        kept[measure] = words
        if doubt is Doubt.MAYBE_ROLLED:
            judged.rolled = (*judged.rolled, measure)

    def _is_since(self, dial, doubt, value, at):
        """Whether the figure before, not the one after, is what it does not go with."""
        before, _after = dial.around(at)
        if doubt in (Doubt.LOWER, Doubt.MAYBE_ROLLED):
            return value < before.shown
        alone = doubt_of([before], at, value, measure=dial.measure)
        return alone is not None


ASKED = {Doubt.QUESTIONED, Doubt.MAYBE_ROLLED}
_TEMPLATES = {
    Doubt.LOWER: (AT_LEAST, AT_MOST),
    Doubt.MAYBE_ROLLED: (MAYBE_ROLLED, AT_MOST),
    Doubt.IMPOSSIBLE: (TOO_FAST, TOO_SLOW),
    Doubt.QUESTIONED: (MUCH_SINCE, MUCH_UNTIL),
}


def _dial(measure, points, facts, site):
    fitted = [meter for meter in facts.meters if meter.measure == measure] if facts else []
    return Dial(
        measure,
        [point for point in points if not point.estimated],
        [(FIRST, own_unit(measure, site)), *((meter.done_at, meter.unit) for meter in fitted)],
        [
            (meter.done_at, meter.rolls_at * LIFE_UNITS_IN[meter.unit])
            for meter in fitted
            if meter.rolls_at is not None
        ],
    )


def own_unit(measure: str, site) -> str:
    """Return the unit of a meter on which nothing is recorded."""
    return UNITS_OF[site.units][measure]
