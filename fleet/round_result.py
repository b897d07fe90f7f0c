"""What a round came to: what it closed, what stays open and why, what comes next. No writes."""

from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from django.utils.translation import gettext as _

from fleet.board import STATE_WORDS
from fleet.calls import open_tags
from fleet.fitted import is_after_removal
from fleet.gather import meet
from fleet.kinds import Outcome, Part, register
from fleet.lateness import days_late, is_written_late, needs_countersign
from fleet.missing import missing_words
from fleet.models import Countersign, Recheck, Round, Tag, WaitingRound
from fleet.softened import Softened, softened_on
from fleet.tellings import first_arrival, last_telling, tellings_of
from fleet.visits import called_at, rules_at
from fleet.why_now import what, when
from shared.dates import shown_day
from shared.models import Entry, Strike

NEXT_ROWS = 6


@dataclass(frozen=True)
class Told:
    """A part of the round as recorded, with what it amounts to and its findings as rows."""

    part: Part
    fact: object
    outcome: Outcome
    rows: list[dict]

    @property
    def reasons(self):
        return list(dict.fromkeys(hold.reason for hold in self.outcome.holds))


@dataclass(frozen=True)
class Left:
    """A recheck that is still called for, and why the round did not close it."""

    id: UUID
    what: str
    state: str
    state_word: str
    reasons: list[str]


@dataclass
class Result:
    """All that a round's result page says.

    ``first`` is its first telling, by who did the work, ``told_at`` when it was first told
    of as done then; ``tags`` still stand, ``ended_tags`` no more; ``waits`` for a
    countersign. ``last`` is its last telling, which stands unless ``last_strike`` took it
    back.
    """

    round: Round
    first: Round
    told_at: datetime
    parts: list[Told]
    closed: list[dict]
    left: list[Left]
    next: list[dict]
    tags: list[Tag]
    ended_tags: list[Tag]
    met: list[Round]
    last: Round | None = None
    last_strike: Strike | None = None
    replaced_by: Round | None = None
    strike: Strike | None = None
    replaces: Round | None = None
    written_late: bool = False
    after_removal: bool = False
    waits: WaitingRound | None = None
    countersign: Countersign | None = None
    softened: list[Softened] = field(default_factory=list)

    @property
    def days_late(self):
        day = self.round.cart.site.day
        return days_late(day(self.waits.done_at), day(self.waits.told_at))

    @property
    def waits_whole(self):
        """Whether all of it waits, not only what a correction added too late."""
        return needs_countersign(self.round.done_at, self.told_at)

    @property
    def is_corrected(self):
        return self.first.by_id != self.round.by_id

    @property
    def missed(self):
        return [name for told in self.parts for name in told.outcome.missed]


def result_of(row, at) -> Result:
    """Return what the round came to, as the facts say at a moment."""
    parts = list(_parts_of([row.pk], at=None))
    met = _met(row, at)
    entry = Entry.objects.filter(corrects=row.pk).first()
    told = tellings_of(row)
    told_at = first_arrival(row, told)
    last, strike = last_telling(row)
    signed = Countersign.objects.standing().filter(about=row.pk).select_related("by")
    own = {row.pk, *(told.fact.pk for told in parts)}
    left = list(_left(row.cart, parts, met, own, at))
    tags, ended_tags = _tags_of(row)
    return Result(
        round=row,
        first=told[-1],
        told_at=told_at,
        parts=parts,
        closed=list(_closed(row)),
        left=left,
        next=list(_next(row.cart, at, but=[one.id for one in left])),
        tags=tags,
        ended_tags=ended_tags,
        met=met,
        last=last,
        last_strike=strike,
        replaced_by=entry and Round.objects.filter(pk=entry.fact_id).first(),
        strike=entry and Strike.objects.filter(pk=entry.fact_id).first(),
        replaces=told[1] if row.corrects else None,
        written_late=is_written_late(row.done_at, told_at, row.brought_in),
        after_removal=bool(parts) and is_after_removal(row.cart, row.done_at),
        waits=WaitingRound.objects.filter(pk=row.pk).first(),
        countersign=signed.first(),
        softened=_softened(row, told) if entry or row.corrects else [],
    )


def _tags_of(row):
    """Return the round's tags that still keep the cart out of use, and those that did."""
    tags = list(Tag.objects.filter(round_id=row.pk))
    stand = set(open_tags().filter(round_id=row.pk)) if tags else set()
    return [tag for tag in tags if tag in stand], [tag for tag in tags if tag not in stand]


def held_by(row) -> dict[str, Told]:
    """Return the parts that a round recorded, by their codes."""
    return {told.part.code: told for told in _parts_of([row.pk], at=None)}


def _softened(row, told):
    """Return the verdicts of this telling that were softened since, and those it softened."""
    found = softened_on({one.cart_id for one in told})
    return [one for one in found if one.round_id in (row.pk, row.corrects)]


def _parts_of(round_ids, *, at):
    """Yield each part of the rounds; with ``at`` only those that stand then."""
    for part in register.parts_in_order():
        facts = part.model.objects.filter(round_id__in=round_ids)
        facts = list(facts.standing(at) if at else facts)
        lines = part.lines_of([fact.pk for fact in facts]) if facts else {}
        for fact in facts:
            outcome = part.outcome(fact, lines.get(fact.pk, []))
            yield Told(part, fact, outcome, list(part.rows([fact])))


def _met(row, at):
    """Return the standing rounds at the cart that overlap this one, but for its own tellings."""
    others = Round.objects.filter(cart=row.cart_id).exclude(pk=row.pk).select_related("by")
    near = others.filter(done_at__gte=row.opened_at, opened_at__lte=row.done_at)
    last, _strike = last_telling(row)
    return [other for other in near.standing() if meet(row, other) and other.pk != last.pk]


def _closed(row):
    for recheck in Recheck.objects.closed_by(row):
        state = recheck.ended_state
        yield {"what": what(recheck), "state": state, "state_word": STATE_WORDS.get(state, state)}


def _left(cart, parts, met, own, at):
    """Yield what is called for still, but for what this round itself began."""
    held = [hold for told in parts for hold in told.outcome.holds]
    if met:
        others = _parts_of([other.pk for other in met], at=at)
        held += [hold for told in others for hold in told.outcome.holds]
    done = {told.part.code for told in parts}
    found = _found(cart, parts, at)
    for one in called_at(cart, at):
        if one.recheck.anchor_id not in own:
            said = (what(one.recheck), one.state, STATE_WORDS[one.state])
            is_again = (one.recheck.rule_code, one.recheck.subject) in found
            again = [_again(one.recheck, cart.site)] if is_again else []
            yield Left(one.recheck.pk, *said, [*_reasons(one, cart, held, done), *again])


def _found(cart, parts, at):
    """Return (rule, subject) of each clock that the round's findings would have started."""
    starts = [start for told in parts for start in told.outcome.starts]
    rules = rules_at(cart.site_id, at) if starts else ()
    return {
        (rule.code, start.subject)
        for rule in rules
        for start in starts
        if start.event in rule.starts
    }


def _again(recheck, site):
    day = shown_day(recheck.anchor_on, site.date_order)
    return _("Found again: it keeps its dates from %(day)s, when it was found first.") % {
        "day": day
    }


def _reasons(called, cart, held, done):
    reasons = list(dict.fromkeys(h.reason for h in held if h.piece in called.content))
    if called.kind.gathers:
        unsaid = set(cart.missing) - {hold.piece for hold in held}
        missing = ", ".join(missing_words(unsaid))
        return [*reasons, _("Not recorded yet: %s") % missing] if missing else reasons
    missing = [code for code in called.kind.parts if code not in done and code in register.parts]
    if missing:
        titles = ", ".join(str(register.parts[code].title) for code in missing)
        reasons.append(_("Not done in this round: %s") % titles)
    if not reasons and called.recheck.is_forecast:
        reasons.append(_("Too early to count: the meters do not show the use it waits for."))
    return reasons


def _next(cart, at, *, but):
    site = cart.site
    today = site.day(at)
    others = cart.rechecks.active().exclude(pk__in=but)
    for recheck in others.order_by("due_on", "id")[:NEXT_ROWS]:
        due, since = when(recheck, today, site)
        yield {"what": what(recheck), "due": due, "since": since, "by_meter": _by_meter(recheck)}


def _by_meter(recheck):
    """Say the figures on the cart's own meters at which it falls due."""
    cart = recheck.cart
    hours, distance = cart.hours_at(recheck.due_hours), cart.distance_at(recheck.due_metres)
    said = [
        f"{figure:,.1f} {unit}"
        for figure, unit in ((hours, "h"), (distance, cart.distance_unit))
        if figure is not None
    ]
    return _(" or ").join(said)
