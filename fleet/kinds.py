"""How kinds of work and parts of a round plug into the fleet.

The fleet knows that work falls due and is closed; what a torque is, the apps know.
Each app registers its kinds, parts and sources of events when it loads.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from fleet.sheets import LIMITS, ColumnSpec
from shared.clock import FOREVER, earliest_of


@dataclass(frozen=True)
class Kind:
    """A kind of scheduled work.

    ``content`` are the pieces of work that close it, such as ``"lugs"`` or, for one
    wheel, ``"lugs:{subject}"``. ``parts`` are the codes of the parts of a round that
    take them down. ``minutes`` is the usual time at the cart. One that ``gathers`` may be
    done in several rounds, and closes at the one that completes it.
    """

    code: str
    title: str
    minutes: int
    content: frozenset[str]
    parts: tuple[str, ...]
    gathers: bool = False

    def content_for(self, subject: str) -> frozenset[str]:
        return frozenset(piece.format(subject=subject) for piece in self.content)


@dataclass(frozen=True)
class Hold:
    """A piece of work that was done and does not close, with the reason said."""

    piece: str
    reason: str


@dataclass(frozen=True)
class Start:
    """A clock that a finding starts: the event's name and its subject."""

    event: str
    subject: str = ""


@dataclass(frozen=True)
class Outcome:
    """What a part of a round amounts to.

    ``pieces`` close work, ``holds`` do not, ``starts`` begin clocks, ``missed`` are
    joints not reached, each a recheck of its own with the same dates; ``left_out`` are
    pieces that the whole of which they are part does not close. A ``tag`` that is not
    empty keeps the cart out of use.
    """

    pieces: frozenset[str] = frozenset()
    holds: tuple[Hold, ...] = ()
    starts: tuple[Start, ...] = ()
    missed: tuple[str, ...] = ()
    left_out: frozenset[str] = frozenset()
    tag: str = ""
    is_critical: bool = False

    @property
    def closing(self) -> frozenset[str]:
        return self.pieces - {hold.piece for hold in self.holds}

    def closes_as_much_as(self, other: "Outcome") -> bool:
        """Whether nothing that the other closes is left open by this one."""
        is_whole = self.left_out <= other.left_out and set(self.missed) <= set(other.missed)
        return is_whole and other.closing <= self.closing


@dataclass(frozen=True)
class Cut:
    """The two times of every computed view: what had happened by, and was known by."""

    happened_by: datetime
    known_by: datetime

    @classmethod
    def known_now(cls, happened_by):
        """Return the cut with all that the journal holds, arrived ahead of the clock or not."""
        return cls(happened_by, FOREVER)

    @property
    def asked_at(self):
        """The moment that was now for who asked."""
        return self.happened_by if self.known_by == FOREVER else self.known_by


@dataclass(frozen=True)
class Happening:
    """Something that may start a clock on a cart, found by an app among its facts."""

    cart_id: UUID
    fact_id: UUID
    name: str
    at: datetime
    subject: str = ""
    chapter: UUID | None = None


@dataclass(frozen=True)
class Chapter:
    """A lift on a cart from its fitting to its removal.

    ``from_day_only``: of the fitting only the day is known, and ``from_at`` is its noon.
    ``told_before`` are earlier tellings of the fitting, which later facts may still name.
    """

    cart_id: UUID
    fitting_id: UUID
    kit_code: str
    from_at: datetime
    until_at: datetime | None = None
    ended_by: UUID | None = None
    is_unproven: bool = False
    from_day_only: bool = False
    told_before: frozenset[UUID] = frozenset()

    def is_of(self, fitting_id: UUID) -> bool:
        return fitting_id == self.fitting_id or fitting_id in self.told_before

    def earliest(self, zone: str) -> datetime:
        """Return the moment before which the lift was not on, as far as that is known."""
        return earliest_of(self.from_at, zone, day_only=self.from_day_only)

    def is_off_at(self, at: datetime) -> bool:
        return self.until_at is not None and self.until_at <= at


class Part:
    """A part of a round: its form, its fact with lines, and what it amounts to.

    Subclass it in the app that owns the model, and register one instance. ``grades`` say
    how bad each word of its verdicts is: 0 is good, more is worse. ``pieces`` are the pieces
    of work that it takes down. One that ``asks`` has buttons named "ask" whose value is its
    code, a colon and what is asked: it is answered on the page, and nothing is saved. One
    with its ``own_page`` begins a page of a printed round.
    """

    code = ""
    title = ""
    place = 0
    model = None
    form_class = None
    template = ""
    cautions: tuple[str, ...] = ()
    grades: Mapping[str, int] = {}
    pieces: frozenset[str] = frozenset()
    asks = False
    own_page = False

    def is_for(self, cart) -> bool:
        """Whether this part can be done at the cart at all."""
        return cart.is_lifted or not self.model.needs_lift

    def is_at_lift(self, fact, lines) -> bool:
        """Whether the fact is work at a lift: never done before the cart bore one."""
        return fact.needs_lift

    def form(self, visit, data=None, files=None):
        """Return the part's form for a visit (cart, pieces wanted, viewer), bound if data is."""
        return self.form_class(visit, data, files, prefix=self.code)

    def answer(self, visit, data, files, what):
        """Return the bound form that answers ``what`` was asked of it."""
        raise TypeError(f"{type(self).__name__} is asked nothing")

    def front_pressures(self, visit, data):
        """Return the measures of the front tyres that were typed here, by "left" and "right"."""
        return {}

    def facts(self, round_fact, form, fact_fields):
        """Return ``[(fact, lines), ...]`` to record from a valid form."""
        raise TypeError(f"{type(self).__name__} must say which facts it records")

    def outcome(self, fact, lines) -> Outcome:
        """Return what the fact amounts to: from the fact and its lines alone."""
        raise TypeError(f"{type(self).__name__} must say what it amounts to")

    def moved(self, old, fact, lines, cart, at) -> None:
        """Copy anew what an unsaved fact carries of its cart, now that it is another one's.

        ``old`` is the fact as recorded at the first cart, ``at`` when it is moved. What was
        seen or measured stays.
        """

    def verdicts(self, fact, lines) -> dict[str, str]:
        """Return each verdict by what it is of, in plain words: ``{"toe": "outside"}``."""
        return {}

    def lines_of(self, fact_ids) -> dict[UUID, list]:
        """Return the lines of each fact, in their order, with one query."""
        return {}

    def outcomes(self, facts) -> dict[UUID, Outcome]:
        """Return what each of many facts amounts to, by its id."""
        lines = self.lines_of([fact.pk for fact in facts]) if facts else {}
        return {fact.pk: self.outcome(fact, lines.get(fact.pk, [])) for fact in facts}

    def rows(self, facts) -> Iterable[dict]:
        """Return the part's findings as rows for the bundle."""
        return ()


class Source:
    """Where an app's facts that start clocks and chapters are read.

    ``models`` are those facts: where they are named, it is asked only of carts with one.
    """

    models: Sequence[type] = ()

    def told(
        self, cart_ids: Sequence[UUID], cut: Cut
    ) -> tuple[Iterable[Happening], Iterable[Chapter]]:
        """Return what starts clocks on carts, and their chapters."""
        return (), self.chapters(cart_ids, cut)

    def chapters(self, cart_ids: Sequence[UUID], cut: Cut) -> Iterable[Chapter]:
        return ()


@dataclass(frozen=True)
class BoardLine:
    """A figure of an app's own on the board: its title, the figure, and where it leads."""

    title: str
    figure: str
    url: str


@dataclass(frozen=True)
class Doubt:
    """A tool of an app that is not to be believed any more: told at once, once to a person.

    ``about`` is the fact that put it in doubt, ``known_at`` when that arrived; ``title`` and
    ``lines`` say it in a mail that leads to ``url``.
    """

    about: UUID
    known_at: datetime
    title: str
    lines: tuple[str, ...]
    url: str


@dataclass(frozen=True)
class RoundNote:
    """What was learnt later of something that a round did; ``url`` leads to more, if any does."""

    item: str
    words: str
    url: str = ""


class Importer:
    """A kind of sheet that can be brought in, of the app that owns its facts.

    ``limits`` are the most that is read of one file.
    """

    code = ""
    title = ""
    limits = LIMITS
    takes_start_day = False

    def columns(self, site) -> Sequence[ColumnSpec]:
        """Return the columns of the sheet, as a site writes them."""
        raise TypeError(f"{type(self).__name__} must say its columns")

    def plan(self, sheet, bringing):
        """Return the Plan of a sheet that was read; nothing is written."""
        raise TypeError(f"{type(self).__name__} must say what a sheet amounts to")


@dataclass
class Register:
    """All that the apps have registered.

    ``blocks`` are for the cart's page: called with (cart, viewer), and on a page of the
    past with the cut too, each returns a (template, context) pair. ``events`` says in words
    what starts a clock, by its name; ``pieces`` what a piece of gathered work is, in the
    order in which they are listed.
    ``importers`` are the kinds of sheet that can be brought in. ``bundle_tables`` are the
    app's own files of the bundle; ``bundle_figures`` make of a Scope what counts its figures;
    ``bundle_gaps`` yield (cart, what is not recorded, the entry it is of) for a Batch.
    ``told_rows`` yield where rows say something else than their changes; see told_rows.py.
    ``board_lines`` yield a BoardLine for (site, viewer). ``doubts`` yield each Doubt of
    (site, after, at) that stands at a moment and arrived after the other one. ``round_notes``
    yield a RoundNote for (round, site, cut): what was learnt of it since. ``cart_leads`` yield
    (title, url) for (cart, viewer): where a tag or a finding leads on to; ``after_round``
    likewise, where any round does; ``round_leads`` for (round, viewer): what it recorded.
    ``lift_urls`` are, for a cart, where the lift that it bears is recorded.
    ``kit_names`` are {code: name} of the kits that carts of a site may be fitted with, for
    (site, cut).
    """

    kinds: dict[str, Kind] = field(default_factory=dict)
    parts: dict[str, Part] = field(default_factory=dict)
    sources: list[Source] = field(default_factory=list)
    rule_files: list[str] = field(default_factory=list)
    blocks: list[Callable] = field(default_factory=list)
    events: dict[str, str] = field(default_factory=dict)
    pieces: dict[str, str] = field(default_factory=dict)
    importers: dict[str, Importer] = field(default_factory=dict)
    bundle_tables: list = field(default_factory=list)
    bundle_figures: list[Callable] = field(default_factory=list)
    bundle_gaps: list[Callable] = field(default_factory=list)
    told_rows: list[Callable] = field(default_factory=list)
    board_lines: list[Callable] = field(default_factory=list)
    doubts: list[Callable] = field(default_factory=list)
    round_notes: list[Callable] = field(default_factory=list)
    cart_leads: list[Callable] = field(default_factory=list)
    after_round: list[Callable] = field(default_factory=list)
    round_leads: list[Callable] = field(default_factory=list)
    lift_urls: list[Callable] = field(default_factory=list)
    kit_names: list[Callable] = field(default_factory=list)

    def leads_from(self, cart, viewer):
        return [lead for leads in self.cart_leads for lead in leads(cart, viewer)]

    def leads_after(self, row, viewer):
        """Return (title, url) of where a round leads on to: what it recorded comes first."""
        own = [lead for leads in self.round_leads for lead in leads(row, viewer)]
        return own + [lead for leads in self.after_round for lead in leads(row.cart, viewer)]

    def kits_of(self, site, cut) -> dict[str, str]:
        names = {}
        for named in self.kit_names:
            names |= named(site, cut)
        return names

    def add_kinds(self, *kinds: Kind):
        self.kinds.update({kind.code: kind for kind in kinds})

    def add_parts(self, *parts: Part):
        self.parts.update({part.code: part for part in parts})

    def add_importers(self, *importers: Importer):
        self.importers.update({importer.code: importer for importer in importers})

    def part_of(self, fact) -> Part:
        return next(part for part in self.parts.values() if part.model is type(fact))

    def parts_in_order(self) -> list[Part]:
        return sorted(self.parts.values(), key=lambda part: part.place)


register = Register()
