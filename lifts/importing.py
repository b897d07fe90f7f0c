"""The list of lifts: which carts have one, with what, since when. Old ones start up anew.

A lift fitted before the site's start day is brought in: its clocks do not run backwards, a
short check and a baseline are planned instead. One fitted since is recorded as any other.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from uuid import uuid5

from django.utils.translation import gettext, gettext_lazy

from fleet.actions.meters import reading
from fleet.actions.register import change_of
from fleet.importing.metering import HOURS, SHOWN_PLACES, Figures
from fleet.importing.numbers import CartNumbers
from fleet.importing.plans import CHANGED, NEW, UNCHANGED, Bringing, Plan, chunks
from fleet.importing.saying import changed
from fleet.importing.starting import BASELINE, SHORT_CHECK
from fleet.kinds import Importer
from fleet.models import Reading, UseClass
from fleet.reading_doubts import MOST_A_DAY
from fleet.sheet_words import gettext_noop as _
from fleet.sheets import Sheet, Words
from fleet.usage import use_rate
from lifts.importing_known import TOLD, KnownCart, known_carts
from lifts.importing_rows import FittingRow, KitNames, fitting_columns
from lifts.models import Fitting
from lifts.old_lifts import (
    ONE_DAY,
    first_days,
    is_still_on,
    is_unproven_hire,
    started,
    tag_of,
)
from shared.clock import noon_of
from shared.dates import shown_day
from shared.models import new_id

BATCH_CARTS = 200
BATCH_FACTS = 1_000
LONGEST_TYPED = Reading._meta.get_field("typed").max_length

LIFT = _("lift: %(kit)s, fitted on %(day)s")
LIFT_SOMETIME = _("lift: %(kit)s, day of fitting not known")
STARTS = _("short check by %(short)s, baseline by %(baseline)s")
CLOSE_OUT = _("fitted since the start day: its close-out is due")
UNPROVEN = _("no paperwork: unproven")
TAGGED = _("tagged, since it was found after the start day without paperwork")
LAST_DONE = _("kept as told, not seen: %(count)d last-done days")
AS_RECORDED = _("%(value)s, as recorded for that fitting")
SAME_FITTING = _("one lift of a cart on one day; line %(line)d has another")
TAKEN_BACK = _("Line %(line)d: that fitting of cart %(cart)s was taken back, and stays so.")
PARTIAL = _("%(count)d lifts come without a word on paperwork: kept as partial.")
START_DAY = _("The site's start day becomes %(day)s: lifts fitted before run no clocks backwards.")
DAY_UNKNOWN = gettext_lazy("Day of fitting not known")


class FittingImporter(Importer):
    code = "fittings"
    title = gettext_lazy("Lifts fitted")
    takes_start_day = True

    def columns(self, site):
        return fitting_columns(site.units)

    def plan(self, sheet: Sheet, bringing: Bringing) -> Plan:
        return _Planning(sheet, bringing).plan


@dataclass
class _Taken:
    """A new fitting with its facts and what the preview says of it."""

    row: FittingRow
    known: KnownCart
    fitting: Fitting
    facts: list = field(default_factory=list)
    words: list = field(default_factory=list)

    def use_order(self):
        """Sort rental carts first, then those used most."""
        points = self.known.meters.dials[HOURS].points
        rate = use_rate(points, most_per_day=MOST_A_DAY[HOURS])
        a_day = rate.per_day if rate else 0
        life = points[-1].life if points else 0
        cart = self.known.cart
        return (cart.use_class != UseClass.RENTAL, -a_day, -life, cart.number)


class _Planning:
    def __init__(self, sheet, bringing):
        self.bringing, self.site, self.today = bringing, bringing.site, bringing.today
        self.start_day = bringing.start_day or self.site.start_day or self.today
        self.taken: list[_Taken] = []
        self.more = []
        self.plan = Plan(batches=self._batches)
        self.plan.refuse(sheet.faults)
        rows = self._rows(sheet)
        for some in chunks(sorted(rows), BATCH_CARTS):
            known = known_carts(some, self.site)
            for cart_id in some:
                self._take_cart(known[cart_id], rows[cart_id])
        self._start_all()
        self._close()

    def _batches(self):
        facts = [*self.more, *(fact for one in self.taken for fact in one.facts)]
        return ([(fact, ()) for fact in some] for some in chunks(facts, BATCH_FACTS))

    def _shown(self, day):
        return shown_day(day, self.site.date_order)

    # rows and carts

    def _rows(self, sheet):
        """Return {cart id: its rows} of the rows that nothing is wrong with."""
        kits, numbers = KitNames(self.site), CartNumbers(self.site)
        found, lines = defaultdict(list), {}
        for raw in sheet.rows():
            row = FittingRow(raw, kits, self.today)
            cart_id = self._cart_of(row, numbers)
            if cart_id and lines.setdefault((cart_id, row.key), row.line) != row.line:
                row.refuse("fitted_on", SAME_FITTING, line=lines[cart_id, row.key])
            if not self.plan.refuse(row.faults):
                found[cart_id].append(row)
        return found

    def _cart_of(self, row, numbers):
        if not row.number:
            return None
        cart_id, accepted = numbers.cart_on(row.number, row.fitted_on, self.today)
        if accepted:
            row.refuse("number", accepted.template, **accepted.values)
        return cart_id

    def _take_cart(self, known, rows):
        for row in sorted(rows, key=lambda one: (one.fitted_on is not None, one.fitted_on)):
            fitting_id = uuid5(known.cart.pk, row.key)
            same = known.fitting_like(row, fitting_id)
            if same is not None:
                self._compare(known, row, same)
            elif fitting_id in known.ids:
                said = {"line": row.line, "cart": known.cart.number}
                self.plan.remark(Words(TAKEN_BACK, said))
                self.plan.tell(UNCHANGED)
            else:
                self._take(known, row, fitting_id)

    # a fitting that is recorded

    def _compare(self, known, row, fitting):
        recorded = {name: getattr(fitting, name) for name in row.said}
        other = [name for name, value in row.said.items() if value != recorded[name]]
        for name in other:
            row.refuse(name, AS_RECORDED, value=recorded[name] or "–")
        if row.kit.code != fitting.kit.code:
            row.refuse("kit", AS_RECORDED, value=fitting.kit.code)
        if self.plan.refuse(row.faults):
            return
        before = known.told_of(fitting.pk)
        fresh = {name: day for name, day in row.last_done.items() if before.get(name) != day}
        if not fresh:
            self.plan.tell(UNCHANGED)
            return
        value = {**before, **row.last_done, "fitting": str(fitting.pk)}
        self.more.append(self._told(known.cart, value, new_id()))
        self.plan.cart_ids.add(known.cart.pk)
        words = [changed(row.row.headings[name], before.get(name), fresh[name]) for name in fresh]
        self.plan.tell(CHANGED, row.line, known.cart.number, *words)

    # a new one

    def _take(self, known, row, fitting_id):
        is_old = row.fitted_on is None or row.fitted_on < self.start_day
        fitting = Fitting(
            id=fitting_id,
            site=self.site,
            cart=known.cart,
            kit=row.kit,
            by=self.bringing.by,
            done_at=self._fitted_at(row.fitted_on),
            day_only=True,
            written_at=self.bringing.at,
            brought_in=is_old,
            note="" if row.fitted_on else gettext(DAY_UNKNOWN),
            **{"paperwork": Fitting.Paperwork.PARTIAL, **row.said},
        )
        taken = _Taken(row, known, fitting, [fitting], [self._lift_words(row)])
        taken.facts += self._reading(taken)
        if self.plan.refuse(row.faults):
            return
        taken.facts += self._first_told(taken)
        self._add_tag(taken)
        if not is_old:
            taken.words.append(Words(CLOSE_OUT))
        known.fittings.append(fitting)
        known.fittings.sort(key=lambda one: one.done_at)
        self.taken.append(taken)

    def _fitted_at(self, day):
        """Return noon of the day; for an unknown one, of the last day before the start day."""
        noon = noon_of(day or self.start_day - ONE_DAY, self.site.zone)
        return min(noon, self.bringing.at)

    def _lift_words(self, row):
        if row.fitted_on is None:
            return Words(LIFT_SOMETIME, {"kit": row.kit.code})
        return Words(LIFT, {"kit": row.kit.code, "day": self._shown(row.fitted_on)})

    def _reading(self, taken):
        """Return the meters as they stood at the fitting, where its day is known."""
        row, meters = taken.row, taken.known.meters
        if row.fitted_on is None or (row.hours is None and row.distance is None):
            return []
        at = taken.fitting.done_at
        distance = row.distance and meters.distance_of(row.distance.si, at).quantize(SHOWN_PLACES)
        figures = Figures(row.line, at, True, row.hours, distance)
        judged = meters.judge(figures)
        for measure, words in judged.faults.items():
            row.refuse(measure, words.template, **words.values)
        self.plan.ask(
            row.row.fault(measure, words.template, **words.values)
            for measure, words in judged.questions.items()
        )
        read = reading(
            taken.known.cart,
            hours=row.hours,
            distance=distance,
            typed=" | ".join(filter(None, map(row.row.text, ("hours", "distance"))))[
                :LONGEST_TYPED
            ],
            source=Reading.Source.SHEET,
            doubted=judged.doubted,
            done_at=at,
            day_only=True,
            id=uuid5(taken.fitting.pk, "reading"),
            **self._who(),
        )
        return [read]

    def _who(self):
        return {"by": self.bringing.by, "brought_in": True}

    def _first_told(self, taken):
        row = taken.row
        value = dict(row.last_done)
        if row.fitted_on is None:
            texts = {name: row.row.text(name) for name in ("hours", "distance")}
            value |= {name: text for name, text in texts.items() if text}
        if not value:
            return []
        if row.last_done:
            taken.words.append(Words(LAST_DONE, {"count": len(row.last_done)}))
        value["fitting"] = str(taken.fitting.pk)
        return [self._told(taken.known.cart, value, uuid5(taken.fitting.pk, TOLD))]

    def _told(self, cart, value, id):
        return change_of(cart.pk, self.site.pk, TOLD, value, id=id, **self._who())

    def _add_tag(self, taken):
        """Tag a hired cart whose lift came to light after the start day without paperwork."""
        row, fitting = taken.row, taken.fitting
        if fitting.paperwork != Fitting.Paperwork.NONE:
            return
        taken.words.append(Words(UNPROVEN))
        is_late = row.fitted_on is None or row.fitted_on >= self.start_day
        if not (is_late and self.today > self.start_day):
            return
        if is_unproven_hire(taken.known, fitting):
            taken.words.append(Words(TAGGED))
            taken.facts.append(tag_of(fitting, by=self.bringing.by, at=self.bringing.at))

    # starting up

    def _start_all(self):
        """Plan the first days of the old lifts that are still on their carts."""
        starting = sorted(filter(self._starts, self.taken), key=_Taken.use_order)
        days = first_days(self.site, max(self.start_day, self.today), len(starting))
        for place, taken in enumerate(starting):
            due_by = {kind: planned[place] for kind, planned in days.items()}
            taken.facts.append(self._start_up(taken, due_by))
            said = {
                "short": self._shown(due_by[SHORT_CHECK]),
                "baseline": self._shown(due_by[BASELINE]),
            }
            taken.words.append(Words(STARTS, said))

    def _starts(self, taken):
        is_on = is_still_on(taken.known, taken.fitting)
        return taken.fitting.brought_in and is_on and not taken.known.has_started

    def _start_up(self, taken, due_by):
        return started(
            taken.known,
            taken.fitting,
            due_by,
            start_day=self.start_day,
            unrecorded_before=self.start_day,
            by=self.bringing.by,
            at=self.bringing.at,
        )

    # the whole

    def _close(self):
        for taken in sorted(self.taken, key=lambda one: one.row.line):
            self.plan.tell(NEW, taken.row.line, taken.known.cart.number, *taken.words)
            self.plan.cart_ids.add(taken.known.cart.pk)
        unsaid = sum("paperwork" not in taken.row.said for taken in self.taken)
        if unsaid:
            self.plan.remark(Words(PARTIAL, {"count": unsaid}))
        is_asked = self.bringing.start_day or self.taken
        if is_asked and self.site.start_day != self.start_day:
            self.plan.site_values = {"start_day": self.start_day}
            self.plan.remark(Words(START_DAY, {"day": self._shown(self.start_day)}))
