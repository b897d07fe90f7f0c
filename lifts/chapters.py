"""The lifts of a cart's life as chapters, each with what its rounds found."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from fleet.kinds import Cut
from fleet.models import Cart, Round
from lifts.fitting_record import Group, missing_in, record_of, warnings_of
from lifts.forms_told import CountForm, WhyForm
from lifts.later_doubts import doubts_at
from lifts.models import Fitting, FittingLength, Removal
from lifts.parts import ALL_PARTS
from lifts.source import LiftSource
from lifts.told import told_days
from shared.models import Role

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
ROUNDS_SHOWN = 12
ORDINARY = {
    "firm",
    "greased",
    "no play",
    "good",
    "in place, legible, visible",
    "holds, cable free",
    "no rub, straight, quiet",
}


@dataclass
class RoundFindings:
    """What the parts of one round found: (item, found, detail), and why work stayed open."""

    round_id: UUID
    done_at: datetime
    noted: list[tuple[str, str, str]] = field(default_factory=list)
    ordinary: int = 0
    reasons: list[str] = field(default_factory=list)


@dataclass
class LiftChapter:
    """One lift on the cart, from its fitting on; ``reason`` is why it was removed.

    ``earliest_at`` is the moment before which it was not on, as far as that is known.
    """

    fitting: Fitting
    lines: list[FittingLength]
    earliest_at: datetime
    until_at: datetime | None = None
    reason: str = ""
    rounds: list[RoundFindings] = field(default_factory=list)
    has_earlier: bool = False

    @property
    def record(self) -> list[Group]:
        return record_of(self.fitting, self.lines)

    @property
    def missing(self) -> str:
        return missing_in(self.record)

    @property
    def warnings(self) -> list[str]:
        return warnings_of(self.fitting, self.lines)

    def holds(self, done_at):
        return self.earliest_at <= done_at and (not self.until_at or done_at < self.until_at)


def chapters_of(cart, cut: Cut, last: int | None = None) -> list[LiftChapter]:
    """Return the cart's lifts, newest first, each with its rounds, newest first.

    A constant number of queries however many rounds there are. Of those no more than the
    ``last`` ones, if so many are asked for.
    """
    spans = list(LiftSource().chapters([cart.pk], cut))
    fittings = Fitting.objects.select_related("kit__site", "site", "by").in_bulk(
        [span.fitting_id for span in spans]
    )
    lines = _lines_of(spans)
    reasons = _removal_reasons(spans)
    since = _since(cart, cut, last) if spans and last else None
    found = _rounds_of(cart, cut, since) if spans else []
    chapters = [
        LiftChapter(
            fittings[span.fitting_id],
            lines[span.fitting_id],
            span.earliest(cart.site.zone),
            span.until_at,
            reasons.get(span.ended_by, ""),
        )
        for span in spans
    ]
    chapters.sort(key=lambda chapter: chapter.fitting.done_at, reverse=True)
    for one in found:
        # on the day of a fitting two may hold it: the newer is meant
        holding = next((chapter for chapter in chapters if chapter.holds(one.done_at)), None)
        if holding is not None:
            holding.rounds.append(one)
    for chapter in chapters:
        chapter.has_earlier = since is not None and chapter.earliest_at < since
    return chapters


def _lines_of(spans):
    found = defaultdict(list)
    ids = [span.fitting_id for span in spans]
    for line in FittingLength.objects.filter(fact__in=ids).order_by("fact", "place"):
        found[line.fact_id].append(line)
    return found


def _removal_reasons(spans):
    ends = [span.ended_by for span in spans if span.ended_by]
    return dict(Removal.objects.filter(pk__in=ends).values_list("pk", "reason"))


def _since(cart, cut, last):
    """Return when the first of so many last rounds was done; None where there are no more."""
    rounds = Round.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    done = rounds.filter(cart=cart).order_by("-done_at").values_list("done_at", flat=True)
    newest = list(done[: last + 1])
    return newest[last - 1] if len(newest) > last else None


def _rounds_of(cart, cut, since=None):
    rounds, doubts = {}, doubts_at(cart, cut)
    standing = Round.objects.standing(cut.known_by).filter(cart=cart)
    if since is not None:
        standing = standing.filter(done_at__gte=since)
    for part in ALL_PARTS:
        known = part.model.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
        if since is not None:
            known = known.filter(done_at__gte=since)
        facts = list(known.filter(cart=cart, round__in=standing).order_by("done_at", "id"))
        lines = part.lines_of([fact.pk for fact in facts]) if facts else defaultdict(list)
        for fact in facts:
            found = rounds.setdefault(fact.round_id, RoundFindings(fact.round_id, fact.done_at))
            _take_down(found, part, fact, lines[fact.pk], doubts)
    return sorted(rounds.values(), key=lambda found: found.done_at, reverse=True)


def _take_down(found, part, fact, lines, doubts):
    for item, what, detail in part.said(fact, lines):
        doubted = doubts.get((fact.pk, item), [])
        if what in ORDINARY and not doubted:
            found.ordinary += 1
        else:
            found.noted.append((item, what, "; ".join(filter(None, [detail, *doubted]))))
    outcome = part.outcome(fact, lines)
    said = [hold.reason for hold in outcome.holds]
    found.reasons = list(dict.fromkeys([*found.reasons, *said]))


def block(cart, viewer, cut=None):
    """Return the cart page's block on its lifts: (template, context).

    Within a cut it shows alone; without one it stands as of now, and may be written to.
    """
    role = viewer.role_at(cart.site) if cut is None else None
    # the page of now leads on to what is older, that of the past does not
    last = ROUNDS_SHOWN if cut is None else None
    cut = cut or Cut.known_now(viewer.at)
    chapters = chapters_of(cart, cut, last)
    may_decide = role == Role.MANAGER and cart.condition != Cart.Condition.LEFT
    context = {
        "cart": cart,
        "chapters": chapters,
        "told": _told_rows(chapters, cut, may_decide),
        "may_write": role in (Role.MANAGER, Role.MECHANIC),
        "may_find_sisters": role == Role.MANAGER and bool(chapters),
        "may_compare": role in READERS and len(chapters) > 1,
        "stock_again": bool(chapters) and bool(chapters[0].reason),
    }
    return "lifts/cart_chapters.html", context


def _told_rows(chapters, cut, may_decide):
    """Return [(told day, form or None), ...] of the lift on the cart."""
    on = [chapter.fitting for chapter in chapters if chapter.until_at is None]
    told = [one for fitting in on for one in told_days(fitting, cut)]
    return [(one, may_decide and not one.is_before_lift and _form_for(one)) for one in told]


def _form_for(told):
    auto_id = f"told-{told.kind}-%s"
    if told.counted:
        return WhyForm(auto_id=auto_id)
    return CountForm(initial={"kind": told.kind, "day": told.day}, auto_id=auto_id)
