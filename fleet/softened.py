"""Corrections that turned a verdict better after a tag, a report or a week: marked, never hidden.

What the desk or a driver reported is the only record of an incident that there is.
"""

import json
from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.utils.translation import gettext as _

from fleet.bundle.cells import done_at, moment
from fleet.kinds import register
from fleet.lateness import COUNTERSIGNED_AFTER, arrival_of
from fleet.models import Report, Tag
from fleet.standing import EVERYTHING
from fleet.tellings import first_tellings
from fleet.verdicts import CALLS, CALLS_NOT, TAG, TAG_GRADES, Turned, turned_better
from shared.models import Entry, Strike


@dataclass(frozen=True)
class Softened:
    """A verdict of ``entry`` that ``answer``, which corrects, moves or strikes it, turned better.

    ``since`` is the last tag or report on the cart that came between the first telling and
    the answer; None: no such one came, and ``is_week_later``, that is more than 7 days after
    the first telling. ``round_id`` is the round of the entry, ``site_id`` its site.
    """

    cart_id: UUID
    site_id: UUID
    round_id: UUID
    entry: UUID
    answer: UUID
    part: str
    turned: Turned
    since: Tag | Report | None
    is_week_later: bool
    corrected_at: datetime
    by_id: UUID
    why: str

    @property
    def sign(self):
        """What the tag or the report said, in words; else how late the correction was."""
        if self.since is None:
            return _("more than 7 days later")
        if isinstance(self.since, Tag):
            return _("tag: %(reason)s") % {"reason": self.since.reason}
        return _("report: %(noticed)s") % {"noticed": self.since.get_noticed_display()}


@dataclass(frozen=True)
class _Told:
    """A part of a round as told once, with its verdicts."""

    part: object
    fact: object
    verdicts: dict

    @property
    def grades(self):
        return self.part.grades | TAG_GRADES


def softened_on(cart_ids, cut=EVERYTHING) -> list[Softened]:
    """Return what was softened on the carts, as known within the cut, in order of arrival.

    A struck part, and one that was moved to another cart, is told no more of its first.
    """
    answers = _answers(cart_ids, cut)
    if not answers:
        return []
    told = _told({one.corrects for one in answers} | {one.fact_id for one in answers})
    first = _first_of([told[one.corrects] for one in answers])
    signs = _signs(cart_ids, cut)
    by_whom = _by_whom(answers, told)
    return [
        Softened(
            before.fact.cart_id,
            before.fact.site_id,
            before.fact.round_id,
            answer.corrects,
            answer.fact_id,
            before.part.code,
            turned,
            since,
            _is_week_later(first[before.fact.pk], answer),
            answer.received_at,
            *by_whom[answer.fact_id],
        )
        for answer in answers
        if (before := told[answer.corrects]).fact.done_at <= cut.happened_by
        for since in _marked_by(signs[before.fact.cart_id], first[before.fact.pk], answer)
        for turned in _turned(before, told.get(answer.fact_id))
    ]


def softened_in(batch):
    """Yield what was softened on the carts of a bundle's batch, as rows."""
    carts = {cart.id: cart for cart in batch.carts}
    scope = batch.scope
    for one in softened_on(batch.ids, scope.cut):
        cart = carts[one.cart_id]
        is_early = scope.since is not None and one.corrected_at < scope.since
        if is_early or not cart.of_site([one.since or one]):
            continue
        yield {
            **cart.named(one.since.done_at if one.since else one.corrected_at),
            **_came_after(one, scope),
            "round": one.round_id,
            "entry": one.entry,
            "corrected_by_entry": one.answer,
            "part": one.part,
            "what": one.turned.what,
            "before": one.turned.before,
            "after": one.turned.after,
            "corrected_at": moment(one.corrected_at, scope.zone),
            "by": scope.name(one.by_id),
            "why": one.why,
        }


def _came_after(one, scope):
    after = [] if one.since is None else ["tag" if isinstance(one.since, Tag) else "report"]
    after += ["more than 7 days later"] if one.is_week_later else []
    return {
        "came_after": "; ".join(after),
        "tag_or_report": one.since and one.since.pk,
        "tag_or_report_done_at": done_at(one.since, scope.zone) if one.since else "",
    }


def _answers(cart_ids, cut):
    """Return the entries that correct, move or strike a part of a round on the carts."""
    kinds = [part.model.kind() for part in register.parts.values()]
    told = Entry.objects.filter(cart_id__in=list(cart_ids), kind__in=kinds)
    answers = Entry.objects.filter(corrects__in=told.values("fact_id"))
    return list(answers.filter(received_at__lte=cut.known_by).order_by("received_at", "seq"))


def _told(ids):
    """Return {fact id: _Told} of the parts of rounds among the ids."""
    found = {}
    for part in register.parts_in_order():
        facts = part.model.objects.in_bulk(ids)
        lines = part.lines_of(list(facts)) if facts else {}
        for key, fact in facts.items():
            own = lines.get(key, [])
            tags = CALLS if part.outcome(fact, own).tag else CALLS_NOT
            found[key] = _Told(part, fact, part.verdicts(fact, own) | {TAG: tags})
    return found


def _first_of(told):
    """Return {fact id: its first telling}."""
    by_model = defaultdict(list)
    for one in told:
        by_model[type(one.fact)].append(one.fact)
    first = {one.fact.pk: one.fact for one in told}
    for facts in by_model.values():
        first |= first_tellings(facts)
    return first


def _signs(cart_ids, cut):
    """Return {cart id: tags and reports on it, as they arrived}, taken back ones too."""
    signs = defaultdict(list)
    for model in (Tag, Report):
        known = model.objects.known(cut.happened_by, cut.known_by)
        for fact in known.filter(cart_id__in=list(cart_ids)):
            signs[fact.cart_id].append(fact)
    for facts in signs.values():
        facts.sort(key=lambda fact: (fact.received_at, fact.pk))
    return signs


def _marked_by(signs, first, answer):
    """Return [last sign since the first telling, before the answer], [None] after a week alone."""
    between = [fact for fact in signs if first.received_at <= fact.received_at < answer.received_at]
    return between[-1:] or [None] * _is_week_later(first, answer)


def _is_week_later(first, answer):
    said = json.loads(bytes(answer.body))
    came_at = min(datetime.fromisoformat(said["written_at"]), answer.received_at)
    return came_at - arrival_of(first) > COUNTERSIGNED_AFTER


def _turned(before, after):
    is_here = after is not None and after.fact.cart_id == before.fact.cart_id
    return turned_better(before.verdicts, after.verdicts if is_here else {}, before.grades)


def _by_whom(answers, told):
    """Return {answering fact id: (by, why)}."""
    strikes = Strike.objects.in_bulk([one.fact_id for one in answers if one.fact_id not in told])
    facts = {key: one.fact for key, one in told.items()} | strikes
    found = ((one.fact_id, facts[one.fact_id]) for one in answers)
    return {key: (fact.by_id, fact.why_corrected) for key, fact in found}
